"""A leak that opens while the bag is shut, told within seconds.

Means of one second are held against a line, and against the same with a line that grew steeper k
seconds ago (a hinge) or a level that jumped. A hinge that stands out of the noise, and explains the
readings better than any jump, is a leak that opened: settling and outgassing only grow slower,
warmth bends too slowly to matter within a minute. The statistic is the generalised likelihood ratio
of a hinge under white noise and a random walk:

    s_k = h_k^T C^-1 y / sqrt(h_k^T C^-1 h_k),  baseline taken off both; found when s_k > 4.8

Pure. One product of a fixed matrix with a hundred means a second, and nothing more.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.reading_noise import ReadingNoise

Array = npt.NDArray[np.float64]
MEANS = 100
"""Seconds looked at: a baseline of a minute, and the hinge within the last forty. Where readings
come more rarely than that, each stands for its own period."""
MOST_PERIOD_S = 4
LATEST, EARLIEST = 3, 40
BEFORE = 30
"""The rise is also steeper than over the half minute before."""
WALK_PA2_PER_S = 0.5
SURE_SIGMAS = 4.8
JUMP_MARGIN = 1.0
"""By so much more, in log likelihood times two, a hinge must explain than any jump."""
GREW_SHARE, STEEP_SHARE = 0.5, 0.9
"""The growth is surely this share of the limit, and the rise since is this share of it."""
STRAIGHT_NOISES = 1.7
"""Readings since the hinge lie on a line as well as the noise lets them: two jumps do not."""
PRIOR_WEIGHT, MEMORY, CLIP = 60.0, 600.0, 6.0
LEARNT_FIRST = 60
"""Seconds of learning in which nothing is said yet."""
LEAST_NOISE_PA = 1.0


@dataclass(frozen=True, slots=True)
class _Detector:
    """Rows that give s_k of each hinge, the same of each jump, and one sigma of each growth."""

    hinges: Array
    jumps: Array
    error_per_noise: Array


class HingeWatch:
    """Follows one shut bag; `noise` is what somebody else learns of its gauge."""

    def __init__(self, limit_pa_per_s: float, noise: ReadingNoise) -> None:
        self._limit = limit_pa_per_s
        self._noise = noise
        self._means: deque[float] = deque(maxlen=MEANS)
        self._seconds: deque[int] = deque(maxlen=MEANS)
        self._second = -1
        self._sum_pa, self._count = 0.0, 0
        self._square, self._weight = np.ones(EARLIEST - LATEST + 1), PRIOR_WEIGHT
        """Of each s_k where no hinge is; 1 where the noise is as it was taken to be."""
        self._past: deque[Array] = deque(maxlen=EARLIEST)

    def add(self, time_s: float, pressure_pa: float) -> Rate | None:
        """Take a believed reading; gives the leak that opened, once a second at most."""
        second = math.floor(time_s)
        found = None
        if second != self._second:
            found = self._close_second(second)
            self._second, self._sum_pa, self._count = second, 0.0, 0
        self._sum_pa += pressure_pa
        self._count += 1
        return found

    def _close_second(self, second: int) -> Rate | None:
        if self._count == 0:
            return None
        if second - self._second > MOST_PERIOD_S:
            self._means.clear()
            self._seconds.clear()
        self._means.append(self._sum_pa / self._count)
        self._seconds.append(self._second)
        return self._look() if len(self._means) == MEANS else None

    def _look(self) -> Rate | None:
        noise_pa = max(self._noise.noise_pa / self._count**0.5, LEAST_NOISE_PA)
        period_s = (self._seconds[-1] - self._seconds[0]) / (MEANS - 1.0)
        detector = _detector(_rounded(WALK_PA2_PER_S * period_s / noise_pa**2))
        means = np.array(self._means) - self._means[0]
        white = detector.hinges @ means / noise_pa
        sigmas = white / np.sqrt(np.maximum(self._square, 1.0))
        best = int(np.argmax(sigmas))
        found = sigmas[best] > SURE_SIGMAS and self._weight >= PRIOR_WEIGHT + LEARNT_FIRST
        if not found:
            self._learn(white)
            return None
        jumped = float(np.max(detector.jumps @ means)) / noise_pa
        if white[best] ** 2 < jumped**2 + JUMP_MARGIN * self._square[best]:
            return None
        growth_error = float(detector.error_per_noise[best] * white[best] / sigmas[best]) * noise_pa
        lag = best + LATEST
        if _off_line(means[-lag - 1 :]) > STRAIGHT_NOISES * noise_pa:
            return None
        return self._opened(means / period_s, lag, float(sigmas[best]), growth_error / period_s)

    def _opened(self, means: Array, lag: int, sigmas: float, error: float) -> Rate | None:
        """Weigh a hinge that is there; None where it is no leak that a person would get up for."""
        since, before = _slope(means[-lag - 1 :]), _slope(means[-lag - BEFORE : -lag])
        grew = min((sigmas - 2.0) * error, since - before)
        if grew < GREW_SHARE * self._limit or since < STEEP_SHARE * self._limit:
            return None
        return Rate(
            rise_pa_per_s=since,
            low_pa_per_s=max(since - 2.0 * error, 0.0),
            high_pa_per_s=since + 2.0 * error,
        )

    def _learn(self, white: Array) -> None:
        """Learn how far s swings within the length of a hinge; a bend that lasts is no noise."""
        if len(self._past) == EARLIEST:
            self._weight = min(self._weight + 1.0, MEMORY)
            square = np.minimum(0.5 * (white - self._past[0]) ** 2, CLIP * self._square)
            self._square += (square - self._square) / self._weight
        self._past.append(white)


def _rounded(ratio: float) -> float:
    """Round to a power of four: few detectors, and none far from its noise."""
    return float(4.0 ** round(math.log(ratio, 4.0)))


def _slope(values: Array) -> float:
    at = np.arange(len(values)) - 0.5 * (len(values) - 1)
    return float(at @ values / (at @ at))


def _off_line(values: Array) -> float:
    """Give the standard deviation of values about their own line."""
    at = np.arange(len(values)) - 0.5 * (len(values) - 1)
    left = values - np.mean(values) - _slope(values) * at
    return float(np.sqrt(left @ left / (len(values) - 2)))


@cache
def _detector(walk_per_noise2: float) -> _Detector:
    """Make the rows for one ratio of random walk to white noise, per second."""
    at = np.arange(float(MEANS))
    lags = np.arange(LATEST, EARLIEST + 1)
    since = at[:, None] - (MEANS - 1.0 - lags)
    hinges = np.maximum(since, 0.0)
    jumps = (at[:, None] - (MEANS - 1.0 - np.arange(1, EARLIEST + 11)) >= 0.5).astype(np.float64)
    baseline = np.stack([np.ones_like(at), at / MEANS], axis=1)
    noise = np.eye(MEANS) + walk_per_noise2 * np.minimum(at[:, None], at[None, :])
    whiten = np.linalg.inv(np.linalg.cholesky(noise))
    orthonormal, _ = np.linalg.qr(whiten @ baseline)

    def rows(shapes: Array) -> tuple[Array, Array]:
        left = whiten @ shapes
        left = left - orthonormal @ (orthonormal.T @ left)
        norm = np.sqrt(np.sum(left**2, axis=0))
        return (left / norm).T @ whiten, norm

    hinge_rows, norm = rows(hinges)
    jump_rows, _ = rows(jumps)
    return _Detector(hinges=hinge_rows, jumps=jump_rows, error_per_noise=1.0 / norm)
