"""Single wild readings: held back for one frame, then thrown away or believed.

A reading that jumps by far more than the channel's noise waits for the next one. If that one is
back where the channel was, the jump was a spike; if it confirms the jump, both are believed. So a
spike never enters an estimate, and a hose that comes off is believed one reading later.
"""

from __future__ import annotations

from collections import deque

from firmware_host.channels.noise import NoiseScale

SIGMAS = 8.0
STEPS = 4.0
CONFIRMED_FROM, CONFIRMED_TO = 0.4, 30.0
"""A second reading whose distance is this share of the jump confirms it: what bursts, or is drawn
by a pump, goes on, and may go on faster."""
SPIKES_IN_A_SPELL = 4
SPELL_S, LEAST_SPELL_S = 300.0, 60.0
"""As many spikes within this time, spread over a minute, make a fault; rarer ones are only counted.

Noise that grows looks like spikes for its first seconds, until it has been learnt.
"""
REMEMBERED = 32
NEAR_JUMPS = 3.0
LEVELS = 64
"""Readings believed lately: a spike to where the channel just was accuses nobody."""
QUIET_S = 300.0

Reading = tuple[float, float]
"""Time and value."""


class SpikeGate:
    """Gate of one channel."""

    __slots__ = ("_least", "_level", "_levels", "_pending", "_recent", "spikes")

    def __init__(self, least_jump: float) -> None:
        self._least = least_jump
        """A smaller jump than this is never a spike."""
        self._level: float | None = None
        self._levels: deque[float] = deque(maxlen=LEVELS)
        self._pending: Reading | None = None
        self._recent: deque[float] = deque(maxlen=REMEMBERED)
        self.spikes = 0

    def take(self, time_s: float, value: float, noise: NoiseScale) -> tuple[Reading, ...]:
        """Take one reading; give what is believed now: none, it, or the one before and it."""
        level, pending = self._level, self._pending
        if level is None:
            self._believe(value)
            return ((time_s, value),)
        jump = max(SIGMAS * noise.present, STEPS * (noise.step or 0.0), self._least)
        if pending is None:
            if abs(value - level) <= jump:
                self._believe(value)
                return ((time_s, value),)
            self._pending = (time_s, value)
            return ()
        self._pending = None
        moved, confirmed = pending[1] - level, value - level
        if CONFIRMED_FROM <= confirmed / moved <= CONFIRMED_TO:
            self._believe(value)
            return (pending, (time_s, value))
        if abs(value - level) > jump:
            self._pending = (time_s, value)  # the other way: a level on the move, or wild again
            return ()
        self.spikes += 1
        if not noise.grown and self._is_strange(pending[1], jump):
            self._recent.append(pending[0])
        self._believe(value)
        return ((time_s, value),)

    def _believe(self, value: float) -> None:
        self._level = value
        self._levels.append(value)

    def _is_strange(self, value: float, jump: float) -> bool:
        """Tell whether the channel has not been anywhere near there lately, as a fast pump has."""
        near = NEAR_JUMPS * jump  # the very top of a stroke is dropped, so that no level shows it
        return not min(self._levels) - near <= value <= max(self._levels) + near

    @property
    def waiting(self) -> bool:
        """Whether the newest reading jumped and nothing has confirmed it yet."""
        return self._pending is not None

    def spell_since(self, now_s: float) -> float | None:
        """Say since when spikes have come thickly; None while they are rare."""
        recent = self._recent
        while recent and now_s - recent[0] > SPELL_S:
            recent.popleft()
        if len(recent) < SPIKES_IN_A_SPELL or recent[-1] - recent[0] < LEAST_SPELL_S:
            return None
        return recent[0]

    def quiet(self, now_s: float) -> bool:
        """Whether there has been no spike for long."""
        return not self._recent or now_s - self._recent[-1] > QUIET_S
