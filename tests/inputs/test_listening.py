"""Listening without a job: a live board, and one port that is held beside one that answers."""

from __future__ import annotations

import threading
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.config.load import parse_bench
from firmware_host.inputs.listening import listen
from firmware_host.inputs.transport import SerialTransport
from tests.inputs.boards import hello
from tests.inputs.cable import Cable
from tests.system.room import TWO_CHANNELS

SPAN_S = 1.0


def test_a_live_board_is_heard_until_the_end(tmp_path: Path) -> None:
    cable = Cable(tmp_path / "board")
    cable.plug()
    bench = parse_bench(TWO_CHANNELS.format(device=cable.name), "bench.toml")

    def talking(stop: threading.Event, span_s: float) -> None:
        assert span_s == SPAN_S
        cable.say(hello())
        for _ in range(5):
            cable.say()
            stop.wait(0.1)

    (heard,) = listen(bench, SystemClock(), SPAN_S, patience=talking)
    cable.close()
    assert (heard.name, heard.up, heard.is_busy) == ("board", True, False)
    assert [channel.name for channel in heard.channels] == ["bag", "part1"]
    assert len(heard.frames) >= 4
    assert heard.frames[0].values == (49997.7, 298.15)


def test_a_port_that_is_held_keeps_no_other_from_being_heard(tmp_path: Path) -> None:
    held, live = Cable(tmp_path / "held"), Cable(tmp_path / "live")
    held.plug()
    live.plug()
    holder = SerialTransport(str(held.name), 115200)
    text = TWO_CHANNELS.format(device=held.name) + TWO_CHANNELS.format(device=live.name).replace(
        '"board"', '"other"'
    ).replace('"bag"', '"pump"').replace('"part1"', '"part2"')
    bench = parse_bench(text, "bench.toml")

    def talking(stop: threading.Event, span_s: float) -> None:
        for _ in range(5):
            live.say()
            stop.wait(span_s / 10.0)

    try:
        first, second = listen(bench, SystemClock(), SPAN_S, patience=talking)
    finally:
        holder.close()
        held.close()
        live.close()
    assert first.is_busy and "is held by" in first.link_text
    assert not second.is_busy and second.frames
