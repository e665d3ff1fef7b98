"""Drop tests written down in closed form, and the way a bag watch is taken through one.

None of this is the simulator: the pressure is a formula, the noise a seeded generator.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.core.bag_watch import BagWatch
from firmware_host.model.events import LeakChecked
from firmware_host.vacuum.isolation import Span

Array = npt.NDArray[np.float64]
LIMIT_PA_PER_S = 3386.389 / 300.0
"""1 inHg in 5 min, with the inch of mercury of NIST SP 811 (from memory)."""
BAG_LIMIT_PA = 15000.0
LOOK_EVERY_S, LOOK_DECIDED_S = 15.0, 60.0
"""The core looks every five; a third of the looks is a third of the time that a test takes. A
verdict that stands is looked at ever so often, lest it turn wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """What a gauge makes of the truth."""

    sigma_pa: float = 20.0
    step_pa: float = 0.0
    wander_pa: float = 0.0
    """Standard deviation of a slow wander with a memory of ten minutes."""

    def read(self, true_pa: Array, period_s: float, rng: np.random.Generator) -> Array:
        """Give the readings."""
        read = true_pa + rng.normal(0.0, self.sigma_pa, len(true_pa)) if self.sigma_pa else true_pa
        read = read + self._wander(len(true_pa), period_s, rng)
        return np.round(read / self.step_pa) * self.step_pa if self.step_pa else read

    def _wander(self, count: int, period_s: float, rng: np.random.Generator) -> Array:
        keep = np.exp(-period_s / 600.0)
        now = rng.normal(0.0, self.wander_pa) if self.wander_pa else 0.0
        track = np.empty(count)
        for i, kick in enumerate(rng.normal(0.0, 1.0, count)):
            now = keep * now + self.wander_pa * np.sqrt(1.0 - keep**2) * kick
            track[i] = now
        return track


def times(until_s: float, period_s: float = 2.0) -> Array:
    """List the moments of readings from the shutting of the valve on."""
    return np.arange(0.0, until_s, period_s)


def isolated(
    time_s: Array,
    leak_pa_per_s: float,
    settling: Callable[[Array], Array],
    start_pa: float = 6000.0,
) -> Array:
    """Give the pressure of a choked leak and a bag that settles."""
    return start_pa + leak_pa_per_s * time_s + settling(time_s)


def exponential(*terms: tuple[float, float]) -> Callable[[Array], Array]:
    """Make the sum of A (1 - e^(-t / tau)) over pairs (A, tau)."""
    return lambda time_s: np.sum([a * (1.0 - np.exp(-time_s / tau)) for a, tau in terms], axis=0)


def stretched(amplitude_pa: float, tau_s: float, beta: float) -> Callable[[Array], Array]:
    """Make the outgassing of cloth and foam: A (1 - e^(-(t / tau)^beta))."""
    return lambda time_s: amplitude_pa * (1.0 - np.exp(-((time_s / tau_s) ** beta)))


def still(time_s: Array) -> Array:
    """Do not settle at all."""
    return np.zeros_like(time_s)


def span_of(
    time_s: Array, pressure_pa: Array, temp_k: Sequence[float] | None = None, noise_pa: float = 20.0
) -> Span:
    """Put readings into a span, each its own block."""
    return Span(
        start_s=0.0,
        end_s=float(time_s[-1]),
        time_s=tuple(map(float, time_s)),
        pressure_pa=tuple(map(float, pressure_pa)),
        samples=(1,) * len(time_s),
        temp_k=tuple(temp_k) if temp_k is not None else (None,) * len(time_s),
        noise_pa=noise_pa,
    )


class Watched:
    """A bag watch with its valve shut at 0 s, looked at ever so often."""

    def __init__(self, limit_pa_per_s: float = LIMIT_PA_PER_S) -> None:
        self.bag = BagWatch(BAG_LIMIT_PA, limit_pa_per_s)
        self.said: list[LeakChecked] = list(self.bag.shut(0.0, 0.0))
        self._next_s = LOOK_EVERY_S

    def take(self, time_s: Array, pressure_pa: Array) -> Watched:
        """Take readings, looking at the test in between as the core does."""
        for t_s, p_pa in zip(map(float, time_s), map(float, pressure_pa), strict=True):
            while self._next_s <= t_s:
                self.said += self.bag.look(self._next_s)
                self._next_s += LOOK_DECIDED_S if self._is_decided else LOOK_EVERY_S
            self.bag.take(t_s, p_pa, None)
        return self

    @property
    def _is_decided(self) -> bool:
        return self.bag.test is not None and self.bag.test.judgement.decided_s is not None

    def open(self, mark_s: float) -> LeakChecked:
        """Mark the valve open and give the last word."""
        self.said += self.bag.open(mark_s, mark_s)
        return self.said[-1]

    def finish(self, now_s: float) -> LeakChecked:
        """End the log without a mark and give the last word."""
        self.said += self.bag.finish(now_s)
        return self.said[-1]
