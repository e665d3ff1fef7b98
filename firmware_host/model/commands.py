"""What a client may say over the daemon's socket: one JSON object a line, one answer a line.

    {"ask": "snapshot"}                                   the newest snapshot, once
    {"ask": "stream"}                                     each new snapshot, newest wins
    {"ask": "trend"}                                      the job so far as a `Trend`, once
    {"mark": {"name": "pump_on", "ago_s": 120.0}}         something the person did
    {"plies": {"laid": 3}}                                so many plies are laid by now
    {"acknowledge": {"id": "vacuum_lost-1", "by": "panel"}}
    {"shelve": {"id": "sensor_fault-part2-1", "by": "bench", "for_s": 900.0, "why": "loose"}}

A mark, a count, an acknowledgement or a shelf is answered with `Answer` once it is stored, or
refused with the reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from msgspec import Meta

LONGEST_LINE = 4096
"""Bytes; a client that sends a longer line is dropped."""
LONGEST_AGO_S = 6.0 * 3600.0
"""A mark may be back-dated this far."""
SHORTEST_SHELF_S, LONGEST_SHELF_S = 60.0, 3600.0
"""An alarm is put aside for so long at most: it says nothing meanwhile, whatever happens (common
practice is one shift; no source for an hour)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkCommand:
    """See the module."""

    name: Annotated[str, Meta(min_length=1, max_length=40)]
    ago_s: Annotated[float, Meta(ge=0.0, le=LONGEST_AGO_S)] = 0.0
    note: Annotated[str, Meta(max_length=500)] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PliesCommand:
    """See the module."""

    laid: Annotated[int, Meta(ge=0, le=10_000)]


@dataclass(frozen=True, slots=True, kw_only=True)
class AcknowledgeCommand:
    """See the module."""

    id: Annotated[str, Meta(min_length=1, max_length=80)]
    by: Annotated[str, Meta(min_length=1, max_length=40)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelveCommand:
    """See the module."""

    id: Annotated[str, Meta(min_length=1, max_length=80)]
    by: Annotated[str, Meta(min_length=1, max_length=40)]
    for_s: Annotated[float, Meta(ge=SHORTEST_SHELF_S, le=LONGEST_SHELF_S)]
    why: Annotated[str, Meta(min_length=1, max_length=200)]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendAsk:
    """The trend is asked for; the core answers it at once."""


Request = MarkCommand | PliesCommand | AcknowledgeCommand | ShelveCommand | TrendAsk
"""What goes to the core and is owed an answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One line from a client; exactly one of the five is given."""

    ask: Literal["snapshot", "stream", "trend"] | None = None
    mark: MarkCommand | None = None
    plies: PliesCommand | None = None
    acknowledge: AcknowledgeCommand | None = None
    shelve: ShelveCommand | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What became of a command."""

    ok: bool
    text: str
