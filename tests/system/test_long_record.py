"""A daemon that comes back to a long record: it listens at once, and what it hears is stored."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.model.events import AlarmChanged
from firmware_host.model.samples import Frame
from firmware_host.outputs.head_chain import HeadChain
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_file import RecordFile
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import RECORD_NAME
from firmware_host.outputs.record_sequence import RowSequence
from firmware_host.outputs.record_verify import find_changes
from firmware_host.place import find_place, read_watch
from tests.bench.talking_board import PERIOD_S, TalkingBoard
from tests.outputs.record_parts import PATIENCE_S
from tests.system.room import START_S, Room
from tests.waiting import until

FRAMES = 6_000
SPAN_S = FRAMES * PERIOD_S + 5.0


class Earlier(SystemClock):
    """The clock as it stood before the record below was made."""

    def monotonic_s(self) -> float:
        return super().monotonic_s() - SPAN_S

    def wall(self) -> datetime:
        return super().wall() - timedelta(seconds=SPAN_S)


def frame(number: int) -> Frame:
    bag_pa, part_k = 8700.0 + number * 7 % 11 * 0.5, (293_000 + number * 5 % 7 * 60) / 1000.0
    return Frame(number / 10.0, 0, (bag_pa, part_k), (None, None))


def long_record(room: Room) -> Path:
    """A job of ten minutes that ended well, as far as its daemon goes."""
    watch, clock = read_watch(room.bench, room.job), Earlier()
    groups = tuple(port.group for port in channels_by_port(watch.bench))
    place = find_place(watch, groups, clock, fresh=True)
    RecordWriter(place.folder, clock, version="0.1.0", zero_mono_s=place.zero_mono_s).close(
        PATIENCE_S
    )
    sequence = RowSequence(groups, inputs=0, input_crc=0, events=0, event_crc=0, heads=HeadChain())
    file = RecordFile(place.folder / RECORD_NAME)
    file.write(
        [
            row
            for number in range(1, FRAMES + 1)
            for row in sequence.add(frame(number), (), "1,2", number / 10.0)
        ]
    )
    file.leave_one_file()
    return place.folder


def test_samples_are_taken_while_a_long_record_is_judged_and_are_stored(room: Room) -> None:
    room.write_bench(period_s=PERIOD_S)
    folder, clock = long_record(room), SystemClock()
    board = TalkingBoard(room.device)
    try:
        daemon = room.watch()
        until(lambda: "\n" in daemon.out or not daemon.is_alive, START_S)
        told_s = clock.monotonic_s()
        until(lambda: (now := room.look()) is not None and now.stored_rows > FRAMES + 5)
        assert daemon.stop() == 0, daemon.err
    finally:
        board.close()
    assert daemon.out.splitlines() == [str(folder)]
    assert "cannot be written" not in daemon.err
    with open_record(folder) as record:
        session = record.sessions()[-1]
        new = [one for one in record.stored_inputs() if one.n > session.after_input]
        alarms = [one for one in record.events() if isinstance(one, AlarmChanged)]
    first = next(one for one in new if one.arrived_s is not None)
    assert session.zero_mono_s + (first.arrived_s or 0.0) < told_s
    assert "recording_fault" not in {alarm.name for alarm in alarms}
    assert find_changes(folder) == ()
