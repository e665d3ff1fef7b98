"""What it costs to say how good each reading is, beside decoding it from its bytes."""

from __future__ import annotations

from pathlib import Path
from time import process_time

from firmware_host.config.load import parse_bench
from firmware_host.core.channel_watch import ChannelWatch
from firmware_host.inputs.port_channels import PortChannels, channels_by_port
from firmware_host.model.samples import Frame
from hardware.frames import FrameReader
from hardware.messages import SampleLine
from tests.bench.feed import PERIOD_S, Feed, bench_of, healthy
from tests.bench.figures import Found, Goal, Pair

NAME = "quality_cost"
GOAL = Goal(ratio=3.0)
LENGTH_S = 600.0
SLICE_S = 50.0
"""A turn decodes this much of the job, then judges the same frames."""
BLOCK_S = 5
FULL_ROUNDS, SAMPLE_ROUNDS = 4, 1


class Quality:
    """The six channels' watches, asked as the core asks them."""

    def __init__(self, channels: PortChannels) -> None:
        self._watches = [ChannelWatch(channel, 0.0) for channel in channels.group.channels]
        self._looked_s = 0

    def take(self, frame: Frame) -> None:
        """Take a frame; look at every channel once a second, close its block every five."""
        if int(frame.time_s) > self._looked_s:
            self._looked_s = int(frame.time_s)
            self._look(float(self._looked_s))
        for watch, value, reason in zip(self._watches, frame.values, frame.reasons, strict=True):
            watch.take(frame.time_s, value, reason)
            watch.grade(frame.time_s, PERIOD_S)

    def _look(self, now_s: float) -> None:
        for watch in self._watches:
            watch.look(now_s, PERIOD_S)
            if self._looked_s % BLOCK_S == 0:
                watch.close_block(now_s, PERIOD_S)


def _decoded(lines: list[bytes], channels: PortChannels) -> tuple[list[Frame], float]:
    reader, frames, begun_s = FrameReader(), list[Frame](), process_time()
    for line in lines:
        for message in reader.feed(line):
            if isinstance(message, SampleLine):
                frames.append(channels.frame(message.raws, 0, message.t_ms))
    return frames, process_time() - begun_s


def _judged(frames: list[Frame], quality: Quality) -> float:
    begun_s = process_time()
    for frame in frames:
        quality.take(frame)
    return process_time() - begun_s


def run(seed: int, *, full: bool) -> Found:
    """Decode and judge the same stretches in turns."""
    pairs = []
    for number in range(FULL_ROUNDS if full else SAMPLE_ROUNDS):
        scenario = healthy(seed + number, LENGTH_S)
        feed = Feed(scenario)
        (channels,) = channels_by_port(
            parse_bench(bench_of(scenario, Path("board"), Path("bench")), "bench.toml")
        )
        quality, at_s = Quality(channels), 0.0
        while at_s < LENGTH_S:
            at_s += SLICE_S
            lines = [one for one in feed.until(at_s) if isinstance(one, bytes)]
            frames, decoded_s = _decoded(lines, channels)
            judged_s = _judged(frames, quality)
            each_us = 1e6 / len(frames)
            pairs.append(Pair(ours=each_us * judged_s, peer=each_us * decoded_s))
    return Found(
        name=NAME,
        ours="CPU time to judge one frame of six channels, us",
        peer="CPU time to decode it, from the line's bytes to Pa and K, us",
        goal=GOAL,
        pairs=tuple(pairs),
    )
