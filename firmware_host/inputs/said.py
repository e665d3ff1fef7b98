"""What a person said through the socket, as an input of the core - or why it cannot be one.

And what the core made of it, as the answer that the person reads.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from firmware_host.model.commands import (
    AcknowledgeCommand,
    Answer,
    MarkCommand,
    PliesCommand,
    ShelveCommand,
)
from firmware_host.model.events import AlarmChanged, Event, MarkTaken, PliesCounted
from firmware_host.model.samples import MARKS, Acknowledge, Mark, PliesLaid, Shelve

ABANDONED = "abandoned"
"""The one mark that no log holds; it needs its reason."""
_KNOWN = (*MARKS, ABANDONED)
Said = MarkCommand | PliesCommand | AcknowledgeCommand | ShelveCommand
Given = Mark | PliesLaid | Acknowledge | Shelve


def refusal(command: Said) -> str | None:
    """Say in words why a command cannot be taken; None when it can."""
    if not isinstance(command, MarkCommand):
        return None
    if command.name not in _KNOWN:
        near = difflib.get_close_matches(command.name, _KNOWN, n=1)
        hint = f"Did you mean {near[0]}?" if near else f"The marks are {', '.join(_KNOWN)}."
        return f"{command.name!r} is no mark. {hint}"
    if command.name == ABANDONED and not command.note.strip():
        return "a job is abandoned with its reason; say why."
    return None


def input_of(command: Said, now_ms: int) -> Given:
    """Put a command on the job's time line, on whole milliseconds."""
    if isinstance(command, AcknowledgeCommand):
        return Acknowledge(now_ms / 1000.0, command.id, command.by)
    if isinstance(command, ShelveCommand):
        for_s = round(command.for_s * 1000.0) / 1000.0
        return Shelve(now_ms / 1000.0, command.id, command.by, for_s, command.why)
    if isinstance(command, PliesCommand):
        return PliesLaid(now_ms / 1000.0, command.laid)
    at_ms = now_ms - round(command.ago_s * 1000.0)
    return Mark(at_ms / 1000.0, command.name, now_ms / 1000.0, command.note)


def answer_to(given: Given, events: Sequence[Event]) -> Answer:
    """Say what the core made of a command."""
    if isinstance(given, Mark):
        taken = [event for event in events if isinstance(event, MarkTaken)]
        if taken:
            return Answer(ok=taken[-1].taken, text=taken[-1].text)
        return Answer(ok=True, text=f"{given.name} is noted.")
    if isinstance(given, PliesLaid):
        counted = [event for event in events if isinstance(event, PliesCounted)]
        if counted:
            return Answer(ok=True, text=f"{counted[-1].laid} of {counted[-1].plies} plies laid")
        return Answer(ok=False, text=f"{given.laid} plies are not in the job file, or it is over.")
    seen = [e for e in events if isinstance(e, AlarmChanged) and e.id == given.alarm_id]
    if seen:
        return Answer(ok=True, text=f"{seen[-1].name} is {seen[-1].state.value}.")
    return Answer(ok=False, text=f"no alarm {given.alarm_id!r} waits to be seen.")
