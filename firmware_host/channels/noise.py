"""A channel's own noise and step, learnt from its differences.

Second differences, because a level may move and a ramp is no noise; without the wildest, because
spikes must not teach. What a channel
learnt in its first readings is its ordinary noise; what it shows now is compared with that.
"""

from __future__ import annotations

import math
from bisect import insort
from collections import deque

LEARN_FROM = 96
"""Differences that make a channel's ordinary noise."""
HEARD_FLOORS = 1.5
"""Below this, noise is supposed and not heard, and nothing follows from its absence."""
KNOWN_FROM = 512
"""Readings after which what was learnt is told."""
RECENT = 32
"""Differences that make its present noise."""
HALF_FROM, HALF_TO, HALF_SHARE = 0.4, 0.6, 0.15
LEAST_MOVES = 8
"""Changes that it takes to tell a step: the first one may be a spike."""
WILD_SHARE = 4
"""One difference in four may be a spike's: a spike makes three."""
KEPT_SQUARE = 0.368
"""Mean square of the lower three quarters of a normal distribution's sizes, over that of all."""
FIRST_GUESS = 10.0
"""Floors of noise that a channel may have before it has shown any."""
KEPT_COARSE = 0.65
"""The same where single steps are most of it; from simulated quantised noise."""
COARSE_SHARE = 8
"""A channel whose neighbours are equal more often than one time in eight has a coarse step."""
ROOT_THREE = 3.0**0.5
"""White noise of variance s2 has differences of 2 s2 and second differences of 6 s2."""
REFRESH = 8
"""Readings between two looks at the present noise."""
GROWN = 4.0
"""Present over ordinary noise from which a channel counts as noisy."""
QUIET_STEPS = 0.3
WILD = 40.0
"""Present over ordinary noise from which a channel shows no level, if it is large besides."""
WINDOW = 16
LIVELY_SHARE = 0.2
"""Share of windows in which a channel must have shown three codes without a trend."""
WINDOWS_NEEDED = 6


class NoiseScale:
    """Noise of one channel; every update costs a handful of plain operations."""

    __slots__ = (
        "_floor",
        "_before",
        "_count",
        "_last",
        "_least_wild",
        "_learnt",
        "_lively",
        "_moves",
        "_present",
        "_recent",
        "_wild_looks",
        "_window",
        "_windows",
        "ordinary",
        "step",
    )

    def __init__(self, floor: float, least_wild: float = math.inf) -> None:
        self._floor = floor
        """Noise that a channel of this kind has at least; nothing is judged below it."""
        self._least_wild = least_wild
        """Less than this is no garbage, whatever the channel was like: a pump may cycle fast."""
        self._last: float | None = None
        self._before: float | None = None
        self._learnt: list[float] = []
        self._recent: deque[float] = deque(maxlen=RECENT)
        self.ordinary: float | None = None
        """One standard deviation of a reading; None while it is being learnt."""
        self.step: float | None = None
        """Usual size of a change: the converter's step where it is coarse, noise where it is fine.

        Not the smallest: a compensated couple moves by hundredths when its cold junction does.
        """
        self._count = 0
        self._present = FIRST_GUESS * floor
        self._moves: list[float] = []
        self._window: list[float] = []
        self._windows = 0
        self._lively = 0
        self._wild_looks = 0

    def take(self, value: float) -> None:
        """Learn from one more reading."""
        last, before, self._before, self._last = self._last, self._before, self._last, value
        if last is None:
            return
        self._learn_step(abs(value - last))
        self._count += 1
        if self._count % REFRESH == 0:
            self._present = self._scale(sorted(self._recent))
            self._look_for_garbage()
        self._look_at_window(value)
        if before is None:
            return
        size = abs(value - 2.0 * last + before) / ROOT_THREE
        self._recent.append(size)
        if self.ordinary is None:
            insort(self._learnt, size)
            if len(self._learnt) >= LEARN_FROM:
                self.ordinary = self._scale(self._learnt)
                self._learnt = []

    @property
    def tells_stuck(self) -> bool:
        """Whether a run of equal codes can mean anything on this channel.

        Noise far below a step toggles between two codes where the level lies on their edge, and
        then stays on one for hours. Only a channel that often shows three codes within a few
        readings has noise enough.
        """
        heard = self.ordinary is not None and self.ordinary > HEARD_FLOORS * self._floor
        lively = self._lively >= LIVELY_SHARE * self._windows
        return heard and lively and self._windows >= WINDOWS_NEEDED

    @property
    def known(self) -> bool:
        """Whether enough was read to say what the channel is like."""
        return self.ordinary is not None and self._count >= KNOWN_FROM

    @property
    def present(self) -> float:
        """Standard deviation of a reading over the last half minute or so."""
        return self._present

    @property
    def grown(self) -> bool:
        """Whether the channel is much noisier than it was."""
        if self.ordinary is None:
            return False
        # A quiet channel in the middle of a coarse code shows no noise at all, until it leaves it.
        return self._present > GROWN * max(self.ordinary, QUIET_STEPS * (self.step or 0.0))

    def _look_for_garbage(self) -> None:
        """Tell noise, which is no fault, from readings that have nothing to do with a level."""
        ordinary, least = self.ordinary, self._least_wild
        wild = ordinary is not None and self._present > max(WILD * ordinary, least)
        self._wild_looks = self._wild_looks + 1 if wild else 0

    @property
    def wild(self) -> bool:
        """Whether the channel shows no level at all, over some twenty readings."""
        return self._wild_looks > 1

    def _learn_step(self, size: float) -> None:
        if size > 0.0 and len(self._moves) < LEARN_FROM:
            insort(self._moves, size)
            if len(self._moves) >= LEAST_MOVES:
                self.step = _usual(self._moves)

    def _look_at_window(self, value: float) -> None:
        window = self._window
        window.append(value)
        if len(window) < WINDOW or self.step is None:
            del window[:-WINDOW]
            return
        half = WINDOW // 2
        trend = abs(sum(window[:half]) - sum(window[half:])) / half
        if trend < self.step:
            self._windows += 1
            self._lively += max(window) - min(window) > 1.5 * self.step
        window.clear()

    def _scale(self, sizes: list[float]) -> float:
        """Give the standard deviation of a reading from its differences, without the wild ones.

        A quantiser adds a twelfth of its squared step; that is no noise of the channel.
        """
        kept = sizes[: max(len(sizes) - max(len(sizes) // WILD_SHARE, 1), 1)]
        square = sum(size * size for size in kept) / len(kept) / 2.0
        step = self.step or 0.0
        if kept[len(kept) // COARSE_SHARE] > 0.0:
            square /= KEPT_SQUARE
        else:  # coarse: equal codes and single steps, of which a twelfth of a square is the step's
            square = max(square / KEPT_COARSE - step * step / 12.0, 0.0)
        return float(max(square**0.5, self._floor))


def _usual(moves: list[float]) -> float:
    """Give the middle move, or half of it where many moves are just that: then it was two steps."""
    middle = moves[len(moves) // 2]
    halves = [move for move in moves if HALF_FROM * middle <= move <= HALF_TO * middle]
    return halves[len(halves) // 2] if len(halves) > HALF_SHARE * len(moves) else middle
