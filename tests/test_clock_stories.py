"""The wall clock is set, jumps with the season, runs out, or was never right: nobody is misled.

Loop, core, writer and record as the daemon joins them, on a clock turned by hand, so that every
duration can be asked for to the millisecond; `tests/system/test_clocks.py` tells some of these
stories to the real daemon.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

import firmware_host.place
from firmware_host.clock import ManualClock
from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import Arrived
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.loop import Loop, Message
from firmware_host.model.commands import MarkCommand
from firmware_host.model.events import AlarmChanged, GapSeen, MarkTaken
from firmware_host.model.samples import Frame, Unseen
from firmware_host.outputs.health import Health
from firmware_host.outputs.publisher import Publisher
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import Record, open_record
from firmware_host.outputs.service import ServiceManager
from firmware_host.outputs.status_socket import Asked
from firmware_host.place import Place, find_place, read_watch
from firmware_host.replay import Said, compare, gather, replay_record
from firmware_host.report.words import TimeWords
from tests.outputs.record_parts import PATIENCE_S
from tests.system.room import JOB, Room
from tests.test_loop import ABOUT

HOUR_S, YEARS_S = 3600.0, 3652.0 * 86_400.0
PERIOD_MS = 500
WAIT_AFTER = 16
BEFORE_S, AFTER_S = 70.0, 130.0
"""A story sets the clock after so long, and then the job goes on for so long."""
EUROPE = ZoneInfo("Europe/Berlin")
SPRING = datetime(2027, 3, 28, 1, 0, tzinfo=UTC)
AUTUMN = datetime(2027, 10, 31, 1, 0, tzinfo=UTC)
"""Summer time begins and ends then (Directive 2000/84/EC: last Sunday, 01:00 UTC)."""
LEAP_SECOND = datetime(2016, 12, 31, 23, 59, 59, tzinfo=UTC)
"""IERS Bulletin C 52: a second was put in after this one; a system repeats the second."""
LAST_OF_32_BITS = datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC)
EPOCH = datetime(1970, 1, 2, tzinfo=UTC)
PLAIN_DAY = datetime(2027, 6, 1, 9, 0, tzinfo=UTC)


class SetClock(ManualClock):
    """A clock turned by hand whose date can be set besides, in a zone with summer time."""

    def __init__(self, start_s: float, wall_at_start: datetime) -> None:
        super().__init__(start_s)
        self._wall_at_zero_s = wall_at_start.timestamp() - start_s
        self.shift_s = 0.0

    def wall(self) -> datetime:
        utc = datetime.fromtimestamp(0.0, UTC) + timedelta(
            seconds=self._wall_at_zero_s + self.monotonic_s() + self.shift_s
        )
        # As the system tells it: local time with the offset of that moment, and no zone.
        offset = utc.astimezone(EUROPE).utcoffset()
        assert offset is not None
        return utc.astimezone(timezone(offset))


@dataclass
class Bench:
    """The daemon's parts on that clock, and a board that never misses its moment."""

    base: Path
    clock: SetClock
    sent: int = 0
    arrived_s: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        room = Room(self.base)
        room.write_bench(period_s=PERIOD_MS / 1000.0)
        self.watch = read_watch(room.bench, room.job)

    def begin(self) -> Place:
        """Start the daemon, or start it again."""
        groups = tuple(port.group for port in channels_by_port(self.watch.bench))
        place = find_place(self.watch, groups, self.clock, fresh=False)
        stop = threading.Event()
        timeline = Timeline(self.clock, place.zero_mono_s)
        self.inbox: Inbox[Message] = Inbox(stop)
        self.timeline = timeline
        self.writer = RecordWriter(
            place.folder, self.clock, version="0.1.0", zero_mono_s=place.zero_mono_s
        )
        self.loop = Loop(
            core=Monitor(parse_job(JOB, "job.toml"), groups),
            timeline=timeline,
            inbox=self.inbox,
            ticker=Ticker(timeline, groups),
            recorder=self.writer,
            publisher=Publisher(ABOUT, self.clock, groups, []),
            health=Health(ServiceManager(None), self.clock),
            answer=lambda *_: None,
            stop=stop,
        )
        if place.last_s is not None:
            with open_record(place.folder) as record:
                self.loop.resume(record.inputs(), place.last_s, "it was off")
        return place

    def watch_for(self, seconds: float) -> None:
        """Let the board talk and the daemon listen."""
        for _ in range(round(seconds * 1000.0 / PERIOD_MS)):
            self.clock.turn(PERIOD_MS / 1000.0)
            self.sent += 1
            now_s = self.timeline.now_s()
            # A quiet room, each reading a few steps from the one before.
            bag_pa = 101_300.0 + self.sent * 7 % 11 * 1.5
            part_k = (293_000 + self.sent * 5 % 7 * 60) / 1000.0
            frame = Frame(now_s, 0, (bag_pa, part_k), (None, None))
            self.inbox.put(Arrived(frame=frame, raw="1,2", arrived_s=now_s))
            self.arrived_s.append(self.clock.monotonic_s())
            self.loop.turn(0.0)
            if self.sent % WAIT_AFTER == 0:
                assert self.writer.flush(PATIENCE_S)  # the disk has the real world's pace
        assert self.writer.flush(PATIENCE_S)

    def mark(self, name: str) -> None:
        self.inbox.put(Asked(token=1, command=MarkCommand(name=name)))
        self.loop.turn(0.0)

    def end(self) -> None:
        self.writer.close(PATIENCE_S)


def check(record: Record, arrived_s: Sequence[float]) -> list[Said]:
    """Hold durations and order of a whole record against the clock that nobody can set.

    Gives its replay.
    """
    frames = [one for one in record.stored_inputs() if isinstance(one.given, Frame)]
    assert [one.arrived_s for one in frames] == pytest.approx(arrived_s, abs=0.001)
    times_s = [one.given.time_s for one in frames]
    assert times_s == sorted(set(times_s))
    events = list(record.events())
    assert [event for event in events if isinstance(event, AlarmChanged)] == []
    assert all(event.taken for event in events if isinstance(event, MarkTaken))
    said = list(replay_record(record, lambda _: None))
    assert compare(record, said).differences == ()
    return said


def check_minutes(record: Record, said: Sequence[Said], end_s: float) -> None:
    """No minute of the report is missing, and none is there twice."""
    mixed_s = next(
        event.time_s
        for event in record.events()
        if isinstance(event, MarkTaken) and event.name == "mixed"
    )
    cure = gather(said)["cure"]
    said_s = [one["time_s"] for one in cure]
    assert 0.0 <= said_s[0] - mixed_s <= 60.0
    *whole, last_s = (after - before for before, after in pairwise(said_s))
    assert whole == [60.0] * (len(said_s) - 2)
    assert 0.0 < last_s <= 60.0
    zero = datetime.fromisoformat(record.meta.zero_wall)
    words = TimeWords(zero_wall=zero, mixed_s=mixed_s)
    begun_s = -zero.second - zero.microsecond / 1e6
    shown = [words.wall(begun_s + 60.0 * minute) for minute in range(round(end_s / 60.0) + 1)]
    first = zero.hour * 60 + zero.minute
    assert shown == [
        f"{minute // 60 % 24:02d}:{minute % 60:02d}" for minute in range(first, first + len(shown))
    ]


STORIES = {
    "an hour on": (PLAIN_DAY, HOUR_S),
    "an hour back": (PLAIN_DAY, -HOUR_S),
    "ten years on": (PLAIN_DAY, YEARS_S),
    "ten years back": (PLAIN_DAY, -YEARS_S),
    "summer time begins": (SPRING, 0.0),
    "summer time ends": (AUTUMN, 0.0),
    "a leap second": (LEAP_SECOND, -1.0),
    "the end of 32 bits": (LAST_OF_32_BITS, 0.0),
    "a start in 1970, set right": (EPOCH, (PLAIN_DAY - EPOCH).total_seconds()),
}


@pytest.mark.parametrize("story", STORIES)
def test_no_duration_no_alarm_and_no_minute_knows_of_the_date(tmp_path: Path, story: str) -> None:
    moment, step_s = STORIES[story]
    bench = Bench(tmp_path, SetClock(7000.0, moment - timedelta(seconds=BEFORE_S)))
    place = bench.begin()
    bench.watch_for(4.0)
    bench.mark("mixed")
    bench.watch_for(BEFORE_S - 4.0)
    bench.clock.shift_s = step_s
    bench.watch_for(AFTER_S)
    bench.end()
    with open_record(place.folder) as record:
        said = check(record, [at_s - 7000.0 for at_s in bench.arrived_s])
        check_minutes(record, said, BEFORE_S + AFTER_S)
        assert not any(isinstance(given, Unseen) for given in record.inputs())
        shifts_s = [
            datetime.fromisoformat(note.wall).timestamp() - note.mono_s
            for note in record.wall_clock()
        ]
    stepped = abs(step_s) > 2.0
    assert len(shifts_s) == (2 if stepped else 1)
    if stepped:
        assert shifts_s[1] - shifts_s[0] == pytest.approx(step_s, abs=0.002)


def test_a_sleep_is_one_gap_of_its_own_length(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SetClock(7000.0, PLAIN_DAY))
    place = bench.begin()
    bench.mark("mixed")
    bench.watch_for(60.0)
    bench.clock.suspend(1800.0)
    bench.loop.turn(0.0)
    bench.watch_for(60.0)
    bench.end()
    with open_record(place.folder) as record:
        (gap,) = (event for event in record.events() if isinstance(event, GapSeen))
        assert gap.time_s - gap.start_s == pytest.approx(1800.0, abs=0.001)
        check(record, [at_s - 7000.0 for at_s in bench.arrived_s])


@pytest.mark.parametrize(
    ("set_by_s", "gap_s"),
    [(0.0, 1200.0), (-HOUR_S, 1200.0 - HOUR_S), (-YEARS_S, -YEARS_S)],
    ids=["a right date", "a date an hour back", "a boot in the past"],
)
def test_a_reboot_is_bridged_by_the_date_and_never_backwards(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, set_by_s: float, gap_s: float
) -> None:
    bench = Bench(tmp_path, SetClock(7000.0, PLAIN_DAY))
    begun = bench.begin()
    bench.mark("mixed")
    bench.watch_for(60.0)
    bench.end()
    first_s = [at_s - 7000.0 for at_s in bench.arrived_s]
    bench.arrived_s = []
    bench.clock = SetClock(12.0, bench.clock.wall() + timedelta(seconds=1200.0))
    bench.clock.shift_s = set_by_s
    # The boot's name is the kernel's own and cannot be handed over.
    monkeypatch.setattr(firmware_host.place, "boot_id", lambda: "another boot")
    again = bench.begin()
    assert again.folder == begun.folder
    bench.watch_for(60.0)
    bench.end()
    # Where the date says nothing, nobody knows how long it was: watching goes on at once.
    back_s = 60.0 + max(gap_s, 0.0)
    second_s = [back_s + at_s - 12.0 for at_s in bench.arrived_s]
    with open_record(begun.folder) as record:
        (gap,) = (given for given in record.inputs() if isinstance(given, Unseen))
        assert [gap.start_s, gap.time_s] == pytest.approx([60.0, back_s], abs=0.001)
        check(record, [*first_s, *second_s])
