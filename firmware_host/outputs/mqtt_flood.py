"""Keeps a phone usable while alarms come thick and fast: the first ten, then one line a minute.

Judged by the times of the events themselves, so that after a crash the same rows of the record give
the same lines again, under the same ids. Only notices are held back; every alarm's own topic
always says how it stands, and the record has all.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from firmware_host.model.events import AlarmChanged
from firmware_host.model.wire import SCHEMA, JobOnWire, NoticeMessage

MOST_A_MINUTE = 10
MINUTE_S = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldBack:
    """Alarms of one minute that the phone has not heard of one by one."""

    events: tuple[AlarmChanged, ...]
    through: int
    """Number of the last of them in the record."""


class FloodGuard:
    """Belongs to the outbox; is shown every alarm that a person must hear, in order."""

    def __init__(self, summed: int) -> None:
        """Go on after `summed`, the last event whose line was said as one of many."""
        self._summed = summed
        self._recent: deque[float] = deque(maxlen=MOST_A_MINUTE)
        self._held: list[AlarmChanged] = []
        self._through = summed

    def passes(self, number: int, event: AlarmChanged) -> bool:
        """Tell whether an event's notice may go out by itself; otherwise it is held back."""
        recent = self._recent
        is_crowded = len(recent) == MOST_A_MINUTE and event.time_s - recent[0] < MINUTE_S
        recent.append(event.time_s)
        if is_crowded and number > self._summed:
            self._held.append(event)
            self._through = number
        return not is_crowded

    def take(self, now_s: float) -> HeldBack | None:
        """Give what was held back, once the first of it has waited its minute."""
        if not self._held or now_s - self._held[0].time_s < MINUTE_S:
            return None
        held, self._held = self._held, []
        return HeldBack(events=tuple(held), through=self._through)


def summary_of(held: Sequence[AlarmChanged], job: JobOnWire) -> NoticeMessage:
    """Put many alarms into one line for the phone."""
    first, last = (f"{job.zero + timedelta(seconds=held[at].time_s):%H:%M}" for at in (0, -1))
    counts = Counter(event.name.replace("_", " ") for event in held)
    named = ", ".join(f"{name} {count}" for name, count in counts.most_common())
    is_high = any(event.priority == "high" for event in held)
    return NoticeMessage(
        schema=SCHEMA,
        job=job.code,
        title=f"{len(held)} more alarms" if len(held) > 1 else "1 more alarm",
        text=f"{last} Since {first}: {named}. Too many to say one by one; look at the bench.",
        priority="high" if is_high else "medium",
        id=f"{job.code}.{held[0].id}.more",
    )
