"""What the judges of couples look at, and what they find.

Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from firmware_host.model.channels import Role

Temps = Sequence[float | None]
JUDGED = (Role.PART, Role.MOULD)
AGREE_K = 1.2
"""Couples this near each other agree."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What goes on at the bench, and how each channel stands."""

    believed: Sequence[bool]
    """False for channels at fault already."""
    noisy: Sequence[bool]
    runs_since_s: Sequence[float]
    """Since when each has shown the code that it shows."""
    heated: bool
    """A lamp or blanket is on, or was a moment ago."""
    wet: bool
    """Resin was mixed: a rise may be the first heat."""
    handled: bool
    """Vacuum is off and hands are at the part: couples may be pulled out."""


@dataclass(frozen=True, slots=True)
class Accusation:
    """A couple that lies, and since when."""

    index: int
    kind: str
    since_s: float


def others_of(
    roles: Sequence[Role], temps: Temps, believed: Sequence[bool], index: int
) -> list[float]:
    """List what the other couples on part and form read."""
    return [
        temp
        for other, temp in enumerate(temps)
        if other != index and temp is not None and believed[other] and roles[other] in JUDGED
    ]


def since(since_s: float | None, now_s: float, *, holds: bool) -> float | None:
    """Give since when something has held; None where it does not."""
    if not holds:
        return None
    return since_s if since_s is not None else now_s
