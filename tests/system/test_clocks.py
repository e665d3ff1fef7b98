"""The date is set this way and that under the running daemon, and the computer sleeps.

Durations and order must not know of it: each sample's arrival, as recorded, is held against the
moment at which this test's own board said it, by a clock that nobody can set.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.model.events import AlarmChanged, GapSeen
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_rows import StoredInput
from firmware_host.outputs.record_schema import WallClock
from tests.bench.talking_board import PERIOD_S, TalkingBoard, number_of
from tests.outputs.disk_log import build_shim
from tests.system.room import Room
from tests.waiting import until

SHIM = Path(__file__).parents[1] / "outputs" / "clock_shim.c"
HOUR_S, DAY_S = 3600.0, 86_400.0
TEN_YEARS_S = 3652.0 * DAY_S
SLEPT_S = 0.5 * HOUR_S
FAIR_S = 0.5
"""What a busy machine may delay a sample by; the least step of the date is twice that."""
SAMPLES_EACH = 5
LAST_OF_32_BITS = datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC)
EUROPE = "CET-1CEST,M3.5.0,M10.5.0/3"
SPRING = datetime(2027, 3, 28, 0, 59, 59, tzinfo=UTC)
AUTUMN = datetime(2027, 10, 31, 0, 59, 59, tzinfo=UTC)
"""A second before the clocks of `EUROPE` are changed (Directive 2000/84/EC: 01:00 UTC)."""

pytestmark = pytest.mark.skipif(shutil.which("gcc") is None, reason="the shim is built with gcc")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the daemon recorded while its date was set."""

    stored: list[StoredInput]
    walls: tuple[WallClock, ...]
    alarms: list[AlarmChanged]
    gaps: list[GapSeen]
    said_at_s: list[float]
    zero_s: float
    report: str


def shifts() -> list[float]:
    """Give the stories, as seconds added to the true date one after the other."""
    now_s = SystemClock().wall().timestamp()
    absolute = [one.timestamp() - now_s for one in (SPRING, AUTUMN, LAST_OF_32_BITS)]
    leap_second = -1.0
    return [0.0, HOUR_S, -HOUR_S, TEN_YEARS_S, -TEN_YEARS_S, leap_second, *absolute, 0.0]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Told]:
    room = Room(tmp_path_factory.mktemp("clocks"))
    try:
        yield run(room)
    finally:
        room.close()


def run(room: Room) -> Told:
    """Set the date again and again, and let the computer sleep at the end."""
    clock_file = room.folder / "clock"
    set_clock(clock_file, 0.0, 0.0)
    room.write_bench(period_s=PERIOD_S)
    board = TalkingBoard(room.device)
    shim = build_shim(room.folder, SHIM)
    daemon = room.watch(
        environment={"LD_PRELOAD": str(shim), "BAGVIGIL_CLOCK": str(clock_file), "TZ": EUROPE}
    )
    try:
        folder = room.job_folder(daemon)
        until(lambda: stored(room) > SAMPLES_EACH, 60.0)
        for shift_s in shifts():
            set_clock(clock_file, shift_s, 0.0)
            hear(room, SAMPLES_EACH + round(1.0 / PERIOD_S))
        set_clock(clock_file, 0.0, SLEPT_S)
        hear(room, 6 * SAMPLES_EACH)  # some that it took before are not stored yet
        assert daemon.stop() == 0, daemon.err
    finally:
        board.close()
    assert room.command("report", folder).returncode == 0
    with open_record(folder) as record:
        events = list(record.events())
        return Told(
            stored=list(record.stored_inputs()),
            walls=record.wall_clock(),
            alarms=[event for event in events if isinstance(event, AlarmChanged)],
            gaps=[event for event in events if isinstance(event, GapSeen)],
            said_at_s=board.said_at_s,
            zero_s=record.sessions()[0].zero_mono_s,
            report=(folder / "report.html").read_text(encoding="utf-8"),
        )


def set_clock(place: Path, wall_s: float, asleep_s: float) -> None:
    new = place.with_suffix(".new")
    new.write_text(f"{round(wall_s * 1e3)} {round(asleep_s * 1e3)}\n", encoding="ascii")
    new.replace(place)


def stored(room: Room) -> int:
    now = room.look()
    return 0 if now is None else now.stored_rows


def hear(room: Room, samples: int) -> None:
    wanted = stored(room) + samples
    until(lambda: stored(room) >= wanted, 60.0)


def delays_s(told: Told) -> list[float]:
    """Give how long after its word each sample was recorded to have come; the sleep taken off."""
    asleep_from = told.gaps[0].start_s
    found = []
    for one in told.stored:
        if one.raw is None or one.arrived_s is None:
            continue
        slept_s = SLEPT_S if one.arrived_s > asleep_from + SLEPT_S / 2.0 else 0.0
        said_s = told.said_at_s[number_of(one.raw) - 1]
        found.append(told.zero_s + one.arrived_s - slept_s - said_s)
    return found


def test_no_duration_knows_of_the_date(told: Told) -> None:
    delays = delays_s(told)
    assert len(delays) > SAMPLES_EACH * len(shifts())
    assert min(delays) >= -0.001
    late = [delay for delay in delays if delay > FAIR_S]
    assert len(late) < 0.1 * len(delays), late


def test_the_order_is_the_order_in_which_it_was_said(told: Told) -> None:
    numbers = [number_of(one.raw) for one in told.stored if one.raw is not None]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    times_s = [one.given.time_s for one in told.stored if one.raw is not None]
    assert times_s == sorted(set(times_s))


def test_the_date_that_was_set_raises_no_alarm(told: Told) -> None:
    of_the_board = {"sensor_fault"}  # its couple repeats itself, which says nothing of clocks
    assert [alarm for alarm in told.alarms if alarm.name not in of_the_board] == []


def test_each_step_of_the_date_is_noted_with_its_offset(told: Told) -> None:
    noted_s = [
        datetime.fromisoformat(wall.wall).timestamp() - wall.mono_s for wall in told.walls[1:]
    ]
    steps_s = [later - before for before, later in zip(noted_s, noted_s[1:], strict=False)]
    assert any(step == pytest.approx(-2.0 * HOUR_S, abs=FAIR_S) for step in steps_s)
    years = {datetime.fromisoformat(wall.wall).year for wall in told.walls}
    assert 2038 in years
    assert all("+01:00" in wall.wall or "+02:00" in wall.wall for wall in told.walls)


def test_a_sleep_is_one_gap_and_the_resin_did_not_wait(told: Told) -> None:
    (gap,) = told.gaps
    assert gap.why == "this computer slept"
    assert gap.time_s - gap.start_s == pytest.approx(SLEPT_S, abs=1.0)
    later = [one for one in told.stored if one.given.time_s > gap.time_s]
    assert len(later) >= SAMPLES_EACH


def test_the_report_tells_the_sleep(told: Told) -> None:
    assert "this computer slept" in told.report
