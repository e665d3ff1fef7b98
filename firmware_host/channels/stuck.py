"""A channel that shows the same code again and again.

How long is too long depends on noise and step: with noise of the size of a step, thirty equal codes
are impossible; with noise far below a step, hours of equal codes are ordinary, and only a channel
that did not follow what it must follow is stuck. A fixed time would be wrong for both.

For white noise of standard deviation s on a step q the likeliest code has the probability
P = erf(q / (2 sqrt(2) s)) at the worst phase, and n further repeats the chance P^n. [1]

[1] Normal distribution through a mid-tread quantiser; the repeats of one code are ruled by its
likeliest value, not by the chance that two neighbours match.
"""

from __future__ import annotations

import math

CHANCE = 1e-9
LEAST_NOISE_IN_STEPS = 0.40
"""Below this the run length says nothing: cannot tell by repeats."""
SAFETY = 2.0
"""Noise is learnt, not known, and not quite white."""
LEAST_RUN = 20
FOLLOW_STEPS = 6.0


def longest_run(noise: float, step: float) -> int | None:
    """Give how many equal codes in a row are still ordinary; None where no number says anything.

    >>> longest_run(20.0, 26.9)
    60
    """
    if step <= 0.0 or noise < LEAST_NOISE_IN_STEPS * step:
        return None
    likeliest = math.erf(step / (2.0 * math.sqrt(2.0) * noise))
    if likeliest <= 0.0:
        return LEAST_RUN
    return max(LEAST_RUN, math.ceil(SAFETY * math.log(CHANCE) / math.log(likeliest)))


SAME_SHARE = 0.2
"""A code is the same within this share of a step: supply and cold junction are taken off after the
converter, so that a stuck code still moves by hundredths."""


class CodeRun:
    """Counts readings in a row that show the same code."""

    __slots__ = ("length", "since_s", "value")

    def __init__(self) -> None:
        self.value: float | None = None
        self.length = 0
        self.since_s = 0.0

    def take(self, time_s: float, value: float, step: float = 0.0) -> None:
        """Take one reading of a channel whose usual step is known, or 0."""
        if self.value is not None and abs(value - self.value) <= SAME_SHARE * step:
            self.length += 1
            return
        self.value, self.length, self.since_s = value, 1, time_s
