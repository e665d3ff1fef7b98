"""Topics and payloads: what a phone, a panel or a watcher may rely on."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    CaseAhead,
    CureForeseen,
    CureState,
    GapSeen,
    Phase,
    PhaseEntered,
)
from firmware_host.model.snapshot import (
    AlarmView,
    ChannelView,
    CureView,
    RecordHead,
    Snapshot,
    View,
)
from firmware_host.model.wire import (
    LONGEST_ACK,
    AckMessage,
    JobOnWire,
    Topics,
    alarm_of,
    encode,
    notice_of,
    presence,
    read_ack,
    state_of,
)

FOLDER = "2026-03-01-anna-svenssons-hatch-1"
ZERO = "2026-03-01T08:00:00.000+01:00"
JOB = JobOnWire.of(FOLDER, ZERO)
TOPICS = Topics(bench="north-bench")
AS_IT_IS = CaseAhead(
    warmed_k=None,
    gel_s=(3_500.0, 4_000.0, 4_600.0),
    onset_s=(3_900.0, 4_400.0, 5_000.0),
    peak_s=(4_500.0, 5_000.0, 6_000.0),
    hottest_k=(310.0, 320.0, 331.15),
    rest_s=(7_000.0, 9_000.0, None),
    pull_s=(None, None, None),
)
WARMED = replace(AS_IT_IS, warmed_k=303.15, gel_s=(3_000.0, 3_400.0, 4_000.0))
CURE = CureView(
    state=CureState.WAITING,
    gel_past_probability=0.01,
    gel_s=4_000.0,
    gel_low_s=3_500.0,
    gel_high_s=4_600.0,
    gel_early_s=3_550.0,
    conversion=None,
    conversion_low=None,
    conversion_high=None,
    why=("past the latest gel time of this job",),
    inhibitor=(0.5, 0.62, 0.8),
    ahead=CureForeseen(time_s=900.0, governs="part1", cases=(AS_IT_IS, WARMED), warm_to_k=303.15),
)
RAISED = AlarmChanged(
    time_s=62.0,
    id="sensor_fault-part1-2",
    name="sensor_fault",
    channel="part1",
    state=AlarmState.ACTIVE,
    priority="medium",
    raised_s=61.5,
    cleared_s=None,
    text="part1 reads open.",
    action="Check its plug and wire.",
)


def channel(name: str, value: float | None) -> ChannelView:
    return ChannelView(name=name, value=value, age_s=None, fault=None)


VIEW = View(
    time_s=1_000.0,
    phase=Phase.WAITING,
    phase_since_s=900.0,
    mixed_s=10.0,
    work_time_s=1500.0,
    latest_gel_s=None,
    usual_mark=None,
    channels=(
        channel("bag", 5_012.34),
        channel("part1", 296.15),
        channel("part2", 298.15),
        channel("shop", 290.0),
    ),
    pressure_limit_pa=15_000.0,
    drop_rule="1 inHg in 5 min",
    highest_temperature_k=363.15,
    drop_test=None,
    cure=CURE,
    alarms=(
        AlarmView(
            id=RAISED.id,
            name=RAISED.name,
            channel="part1",
            state=AlarmState.ACKNOWLEDGED,
            priority="medium",
            raised_s=61.5,
            text=RAISED.text,
            action=RAISED.action,
        ),
    ),
    unseen_s=0.0,
    room_pa=100_912.34,
)


def snapshot(view: View = VIEW) -> Snapshot:
    return Snapshot(
        schema=1,
        version="0.1.0",
        bench="north-bench",
        part="Anna Svensson's hatch",
        folder=f"/home/anna/jobs/{FOLDER}",
        wall="2026-03-01T08:16:40.000+01:00",
        zero_wall=ZERO,
        clock_rate=1.0,
        stored_rows=3,
        stored_age_s=0.1,
        links=(),
        view=view,
        head=RecordHead(inputs=1200, sha256="ba7816bf"),
    )


def state(**changed: Any) -> dict[str, Any]:  # noqa: ANN401 - fields of a view
    said = state_of(snapshot(replace(VIEW, **changed)), JOB, 7)
    held: dict[str, Any] = msgspec.json.decode(encode(said))
    return held


def test_topics_lie_below_the_bench() -> None:
    assert (TOPICS.state, TOPICS.notice, TOPICS.presence, TOPICS.ack) == (
        "bagvigil/north-bench/state",
        "bagvigil/north-bench/notice",
        "bagvigil/north-bench/presence",
        "bagvigil/north-bench/ack",
    )
    assert TOPICS.alarm("vacuum_lost", None) == "bagvigil/north-bench/alarm/vacuum_lost"
    assert TOPICS.alarm("sensor_fault", "part1") == "bagvigil/north-bench/alarm/sensor_fault/part1"


def test_the_state_says_how_things_stand() -> None:
    assert state() == {
        "schema": 1,
        "job": JOB.code,
        "phase": "waiting",
        "cure_state": "waiting",
        "time": "2026-03-01T08:16:40.000+01:00",
        "bag_pa": 5012.3,
        "compaction_pa": 95900.0,
        "part_c": 24.0,
        "conversion": None,
        "gel_s_left": 3000.0,
        "resin": {
            "why": ["past the latest gel time of this job"],
            "kicked_late": False,
            "inhibitor_burnt": 0.62,
            "gel_window_s_left": [2500.0, 3600.0],
            "conversion_window": None,
            "hottest_c": 58.0,
            "warm_to_c": 30.0,
            "warmed_min_sooner": 10.0,
            "rest_s_left": [6000.0, 8000.0, None],
            "pull_s_left": [None, None, None],
            "governs": "part1",
        },
        "leak_pa_per_s": None,
        "limit_s_left": None,
        "outlook": None,
        "alarms": ["sensor_fault/part1"],
        "record": {"inputs": 1200, "sha256": "ba7816bf"},
        "seq": 7,
    }


def test_what_is_not_measured_is_null() -> None:
    said = state(channels=(channel("bag", None),), cure=None, alarms=())
    unknown = ("bag_pa", "compaction_pa", "part_c", "conversion", "gel_s_left")
    assert {name: said[name] for name in unknown} == dict.fromkeys(unknown)
    assert (said["cure_state"], said["alarms"]) == ("not_observable", [])


def test_a_room_that_nobody_measured_leaves_the_compaction_open() -> None:
    assert state(room_pa=None)["compaction_pa"] is None


@pytest.mark.parametrize(
    ("gel_s", "conversion", "left_s"),
    [
        (1_000.1, None, 0.1),
        (1_000.0, None, None),
        (900.0, None, None),
        (None, None, None),
        (1_200.0, 0.31, None),
    ],
)
def test_the_time_to_gel_is_never_negative_and_null_once_it_is_past(
    gel_s: float | None, conversion: float | None, left_s: float | None
) -> None:
    said = state(cure=replace(CURE, gel_s=gel_s, conversion=conversion))
    assert (said["gel_s_left"], said["conversion"]) == (left_s, conversion)


def test_an_alarm_carries_its_own_dates() -> None:
    returned = replace(RAISED, state=AlarmState.RETURNED, cleared_s=100.25)
    assert msgspec.to_builtins(alarm_of(returned, JOB)) == {
        "schema": 1,
        "job": JOB.code,
        "name": "sensor_fault",
        "channel": "part1",
        "state": "returned",
        "priority": "medium",
        "raised": "2026-03-01T08:01:01.500+01:00",
        "until": "2026-03-01T08:01:40.250+01:00",
        "text": "part1 reads open.",
        "action": "Check its plug and wire.",
        "id": f"{JOB.code}.sensor_fault-part1-2.returned",
    }


def test_a_raised_alarm_is_a_phones_line_that_makes_sense_alone() -> None:
    assert msgspec.to_builtins(notice_of(RAISED, JOB)) == {
        "schema": 1,
        "job": JOB.code,
        "title": "sensor fault: part1",
        "text": "08:01 part1 reads open. Check its plug and wire.",
        "priority": "medium",
        "id": f"{JOB.code}.sensor_fault-part1-2.notice",
    }


@pytest.mark.parametrize("phase", [Phase.KICKED, Phase.CLOSED])
def test_the_kick_and_the_end_are_quiet_lines(phase: Phase) -> None:
    said = notice_of(PhaseEntered(time_s=9.0, phase=phase, since_s=9.0), JOB)
    assert said is not None
    assert (said.title, said.priority) == (phase.value, "low")


@pytest.mark.parametrize(
    "event",
    [
        *(replace(RAISED, state=state) for state in AlarmState if state is not AlarmState.ACTIVE),
        replace(RAISED, priority="low"),
        PhaseEntered(time_s=9.0, phase=Phase.WAITING, since_s=9.0),
        GapSeen(time_s=9.0, start_s=3.0, why="off"),
    ],
)
def test_nobody_is_called_for_the_rest(event: AlarmChanged | PhaseEntered | GapSeen) -> None:
    assert notice_of(event, JOB) is None


@pytest.mark.parametrize("name", ["phone_path_down", "recording_fault"])
def test_nothing_on_the_wire_names_a_person_a_part_or_a_place(name: str) -> None:
    event = replace(RAISED, name=name, channel=None, text="/home/anna/jobs: disk full, user anna")
    notice = notice_of(event, JOB)
    assert notice is not None
    sent = (encode(alarm_of(event, JOB)), encode(notice), encode(state_of(snapshot(), JOB, 1)))
    for payload in sent:
        assert b"anna" not in payload.lower()


def test_a_shelved_alarm_says_until_when() -> None:
    aside = replace(RAISED, state=AlarmState.SHELVED, shelved_until_s=RAISED.time_s + 900.0)
    said = alarm_of(aside, JOB)
    assert (said.state, said.until) == ("shelved", JOB.date(RAISED.time_s + 900.0))
    assert notice_of(aside, JOB) is None


def test_a_jobs_code_is_stable_and_its_own() -> None:
    assert JOB.code == JobOnWire.of(FOLDER, ZERO).code
    others = {JobOnWire.of(FOLDER + "x", ZERO).code, JobOnWire.of(FOLDER, ZERO[:-1] + "1").code}
    assert len(others | {JOB.code}) == 3


def test_presence_says_since_when() -> None:
    said = presence(online=True, since=datetime(2026, 3, 1, 8, tzinfo=UTC))
    assert encode(said) == b'{"schema":1,"online":true,"since":"2026-03-01T08:00:00.000+00:00"}'


@pytest.mark.parametrize("what", ["active", "returned", "notice"])
def test_the_id_of_a_transition_or_a_notice_leads_to_its_alarm(what: str) -> None:
    assert JOB.alarm_id_of(f"{JOB.code}.vacuum_lost-1.{what}") == "vacuum_lost-1"


@pytest.mark.parametrize(
    "wire_id",
    ["vacuum_lost-1", "", ".", "..", "0123456789.vacuum_lost-1.active", f"{JOB.code}.notice"]
    + [f"{JOB.code}.vacuum_lost-1", f"{JOB.code}..active", f"{JOB.code}.vacuum_lost-1.gone"],
)
def test_an_id_of_another_job_or_of_nothing_leads_nowhere(wire_id: str) -> None:
    assert JOB.alarm_id_of(wire_id) is None


def test_an_acknowledgement_is_read() -> None:
    said = read_ack(b'{"id":"a.b-1.active","by":"phone 2","time":"2026-03-01T08:00:00+01:00"}')
    when = datetime.fromisoformat("2026-03-01T08:00:00+01:00")
    assert said == AckMessage(id="a.b-1.active", by="phone 2", time=when)


LONG = b'{"id":"a","by":"b","time":"2026-03-01T08:00:00Z"}'


def test_an_acknowledgement_may_be_so_long_and_no_longer() -> None:
    assert read_ack(LONG.ljust(LONGEST_ACK)).id == "a"
    with pytest.raises(ValueError, match=r"1025 bytes \(limit 1024\)"):
        read_ack(LONG.ljust(LONGEST_ACK + 1))


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"null",
        b"[]",
        b"[" * 1000,
        b'{"id":' + b"[" * 1000,
        b"\xff\xfe\x00",
        b'{"id":"\xff","by":"b","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"a","by":"b"}',
        b'{"id":"a","by":"b","time":"yesterday"}',
        b'{"id":"a","by":"b","time":"2026-03-01T08:00:00"}',
        b'{"id":1,"by":"b","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"","by":"b","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"a","by":"","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"a\\u001b[2J","by":"b","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"a","by":"b\\u202e","time":"2026-03-01T08:00:00Z"}',
        b'{"id":"a","by":"b","time":"2026-03-01T08:00:00Z","shelve":"all"}',
        LONG + LONG,
    ],
)
def test_anything_else_is_refused(payload: bytes) -> None:
    with pytest.raises(ValueError, match="."):
        read_ack(payload)


@given(st.binary(max_size=200))
def test_no_bytes_do_more_than_be_refused(payload: bytes) -> None:
    with pytest.raises(ValueError, match="."):
        read_ack(payload)
