"""What a few seconds of listening say about a bench before a job: ports, channels, room, couples.

Pure. Every finding is one line: ok, doubt or fail, what it is about, and the next step. A doubt is
something that a person must look at; only what cannot work is a fail.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean, median

from firmware_host.model.channels import Channel, Quantity, Role
from firmware_host.model.samples import Frame, Reason

LEAST_SHARE = 0.7
"""Of the samples that the period promises."""
ROOM_OK_PA = 1000.0
"""One per cent of a transducer of 1 bar: what makers of the usual ones promise, from memory."""
ROOM_FAIL_PA = 3000.0
UNDER_VACUUM_PA = 80000.0
"""Below this a gauge is not open to a room where people work without gasping."""
LOWEST_ROOM_PA, HIGHEST_ROOM_PA = 80000.0, 106000.0
APART_K = 2.5
"""Between one couple and the middle of all; class 2 of IEC 60584-1 (2.5 K), from memory."""
NEXT_STEPS = {
    Reason.NOT_READ: "Check the board's firmware, or that its chip is set up.",
    Reason.DRIVER: "Nobody answers there: check wiring, address and supply of the part.",
    Reason.OPEN: "A lead is broken or off: check its connector.",
    Reason.SHORT: "A lead touches ground or supply: check its insulation.",
    Reason.OUT_OF_RANGE: "Check that the bench file names the sensor that is really there.",
    Reason.DEAD_BUS: "All bits are alike: check the chip's supply, select and data line.",
    Reason.UNREADABLE: "The raw is not of this kind: correct kind or index in the bench file.",
}


class Level(StrEnum):
    """How a thing was found."""

    OK = "ok"
    DOUBT = "doubt"
    FAIL = "fail"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One line of the check."""

    level: Level
    what: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardPort:
    """What came from one port while it was listened to."""

    name: str
    channels: tuple[Channel, ...]
    period_s: float
    span_s: float
    frames: tuple[Frame, ...] = ()
    up: bool = False
    link_text: str = ""
    """The last that its reader said of it."""
    is_busy: bool = False
    """Another program holds it."""
    damaged: int = 0
    lost: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One channel at rest, in Pa or K."""

    channel: Channel
    mean: float
    noise: float
    """One standard deviation of a reading, from second differences: a drift is no noise."""
    step: float | None
    """The usual change from one reading to the next; None where it never changed."""


def judge_port(heard: HeardPort) -> list[Finding]:
    """Judge link, sample rate and check sums of one port, then each of its channels."""
    what = f"port {heard.name}"
    if not heard.frames:
        text = (
            heard.link_text or f"nothing came within {heard.span_s:.0f} s. Check plug and device."
        )
        return [Finding(level=Level.FAIL, what=what, text=text)]
    channels = [_judge_channel(heard, at) for at in range(len(heard.channels))]
    return [_judge_line(heard, what), *channels]


def measure(heard: HeardPort) -> list[Measured]:
    """Measure every channel that gave three readings or more."""
    found = []
    for at, channel in enumerate(heard.channels):
        values = _values(heard, at)
        if len(values) >= 3:
            found.append(_measured(channel, values))
    return found


def judge_room(measured: Sequence[Measured]) -> list[Finding]:
    """Compare every gauge, open to the room, with the barometer."""
    gauges = [one for one in measured if one.channel.role.quantity is Quantity.PRESSURE]
    barometer = next((one for one in gauges if one.channel.role is Role.BAROMETER), None)
    room_pa = None if barometer is None else barometer.mean
    return [_judge_gauge(one, room_pa) for one in gauges if one.channel.role is not Role.BAROMETER]


def judge_couples(measured: Sequence[Measured]) -> list[Finding]:
    """Compare the thermometers, all at rest in one room, with their middle."""
    warm = [one for one in measured if one.channel.role.quantity is Quantity.TEMPERATURE]
    if len(warm) < 2:
        return []
    middle_k = median(one.mean for one in warm)
    apart = [one for one in warm if abs(one.mean - middle_k) > APART_K]
    if not apart:
        text = f"{len(warm)} agree within {APART_K} K at {middle_k - 273.15:.1f} C."
        return [Finding(level=Level.OK, what="thermometers", text=text)]
    return [_far(one, middle_k) for one in apart]


def _far(one: Measured, middle_k: float) -> Finding:
    text = (
        f"is {one.mean - middle_k:+.1f} K off the middle of all (limit {APART_K} K). Let all lie "
        "in the shop for ten minutes and check again; then look for reversed or wrong wire."
    )
    return Finding(level=Level.DOUBT, what=one.channel.name, text=text)


def _judge_line(heard: HeardPort, what: str) -> Finding:
    expected = max(1.0, heard.span_s / heard.period_s)
    count = len(heard.frames)
    said = f"{count} samples in {heard.span_s:.0f} s, {heard.damaged} damaged, {heard.lost} lost"
    if heard.link_text and not heard.up:
        return Finding(level=Level.FAIL, what=what, text=f"{said}. {heard.link_text}")
    if heard.damaged or heard.lost:
        text = f"{said}. Check cable, shield and ground; keep mains leads away."
        return Finding(level=Level.DOUBT, what=what, text=text)
    if count < LEAST_SHARE * expected - 1.0:
        text = f"{said}; {expected:.0f} were due. Lengthen period_s, or ask fewer parts."
        return Finding(level=Level.DOUBT, what=what, text=text)
    return Finding(level=Level.OK, what=what, text=f"{said}.")


def _judge_channel(heard: HeardPort, at: int) -> Finding:
    channel, frames = heard.channels[at], heard.frames
    # A chip that is set up at the first look has no value in that frame.
    reasons = Counter(reason for frame in frames[1:] or frames if (reason := frame.reasons[at]))
    values = _values(heard, at)
    if not values:
        reason = reasons.most_common(1)[0][0] if reasons else Reason.NOT_READ
        text = f"no value: {reason}. {NEXT_STEPS[reason]}"
        return Finding(level=Level.FAIL, what=channel.name, text=text)
    if reasons:
        reason, count = reasons.most_common(1)[0]
        text = f"{count} of {len(frames)} readings failed: {reason}. {NEXT_STEPS[reason]}"
        return Finding(level=Level.DOUBT, what=channel.name, text=text)
    return Finding(level=Level.OK, what=channel.name, text=_shown(channel, values))


def _shown(channel: Channel, values: Sequence[float]) -> str:
    is_pressure = channel.role.quantity is Quantity.PRESSURE
    mean = fmean(values)
    said = f"{mean / 100.0:.1f} hPa" if is_pressure else f"{mean - 273.15:.1f} C"
    if len(values) < 3:
        return f"{said}."
    noise = _measured(channel, values).noise
    return f"{said}, noise {noise:.0f} Pa." if is_pressure else f"{said}, noise {noise:.2f} K."


def _judge_gauge(one: Measured, room_pa: float | None) -> Finding:
    name, said = one.channel.name, f"{one.mean / 100.0:.1f} hPa"
    if one.mean < UNDER_VACUUM_PA:
        text = f"{said}: it stands under vacuum. Open it to the room and check again."
        return Finding(level=Level.DOUBT, what=f"{name} at room", text=text)
    if room_pa is None:
        return _judge_alone(one, f"{name} at room", said)
    off_pa = one.mean - room_pa
    text = f"{said}, the barometer {room_pa / 100.0:.1f} hPa: {off_pa / 100.0:+.1f} hPa apart"
    if abs(off_pa) <= ROOM_OK_PA:
        return Finding(level=Level.OK, what=f"{name} at room", text=f"{text}.")
    level = Level.DOUBT if abs(off_pa) <= ROOM_FAIL_PA else Level.FAIL
    text += f" (limit {ROOM_OK_PA / 100.0:.0f}). Run bagvigil calibrate, or mend its scale."
    return Finding(level=level, what=f"{name} at room", text=text)


def _judge_alone(one: Measured, what: str, said: str) -> Finding:
    if LOWEST_ROOM_PA <= one.mean <= HIGHEST_ROOM_PA:
        text = f"{said}: may be a room; there is no barometer to compare with."
        return Finding(level=Level.OK, what=what, text=text)
    text = f"{said} is no room's pressure. Correct the channel's scale in the bench file."
    return Finding(level=Level.FAIL, what=what, text=text)


def _values(heard: HeardPort, at: int) -> list[float]:
    return [value for frame in heard.frames if (value := frame.values[at]) is not None]


def _measured(channel: Channel, values: Sequence[float]) -> Measured:
    bends = [
        after - 2.0 * here + before
        for before, here, after in zip(values, values[1:], values[2:], strict=False)
    ]
    moves = [abs(b - a) for a, b in zip(values, values[1:], strict=False) if b != a]
    noise = (sum(bend * bend for bend in bends) / len(bends) / 6.0) ** 0.5
    return Measured(
        channel=channel, mean=fmean(values), noise=noise, step=median(moves) if moves else None
    )
