"""What a reader thread tells the core thread, beside `LinkChanged` of the model."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.samples import Frame, LinkChanged


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """A frame with its evidence."""

    frame: Frame
    raw: str
    """The line's raws as received, comma separated."""
    arrived_s: float
    """Job time at which the host had the bytes; what the core judges is `frame.time_s`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PortCounts:
    """What a port's reader counted since the daemon began."""

    group: int
    frames: int = 0
    """Samples handed on."""
    damaged: int = 0
    """Lines that are not what the board sent."""
    lost: int = 0
    """Samples that the board sent and that never came."""
    duplicates: int = 0
    old: int = 0
    """Samples out of order, or taken before the job began; dropped."""
    restarts: int = 0
    """Times that the board began anew under us."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadDied:
    """A thread ended by itself; the bench goes on without what it did."""

    thread: str
    why: str


PortMessage = Arrived | LinkChanged | PortCounts
