"""When each thing comes: gel, first warmth, peak, rest and pull, as it is and in a warmer room.

Pure. A hundred members drawn by weight go on from where they stand, each warming by its own heat,
a minute a step; what they come to is told as 5, 50 and 95 %. Their steps are cruder
than the followers' (midpoint rule, an exponential for what is left), for minutes are all that is
told:

    alpha += (1 - alpha) (1 - exp(-rate dt / (1 - alpha)))

which neither overshoots nor needs splitting, however hot a member runs.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from firmware_host.cure.evidence import quantiles
from firmware_host.cure.foresee import HOTTEST_K, Standing
from firmware_host.cure.heat import Nodes, warm
from firmware_host.cure.population import Array, Population
from firmware_host.physics.kinetics import Progress, conversion_rate_per_s, induction_gain

STEP_S, LATER_STEP_S = 60.0, 150.0
FINE_S, AHEAD_S = 2.0 * 3600.0, 9.0 * 3600.0
ONSET_K = 1.5
"""Warmth of the laminate over the shop that a couple can tell from noise."""
SHARES = (0.05, 0.50, 0.95)
TINY = 1e-9

Range = tuple[float | None, float | None, float | None]
"""5, 50 and 95 %, in seconds from now; None beyond what was run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """When vacuum may come off and the part be pulled: policy, handed in."""

    near_room_k: float
    rest_conversion: float
    rest_s: float
    """From now; gel times since mixing, already counted."""
    pull_conversion: float
    pull_s: float
    target_conversion: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Where the members go in one room; rows are moments, columns members."""

    after_s: Array
    laminate_k: Array
    """What the couple would show of it."""
    mould_k: Array
    conversion: Array
    room_k: float
    gel_conversion: float

    def gel(self) -> Range:
        """Give when the laminate gels; 0 where it has."""
        return self._when(self.conversion >= self.gel_conversion)

    def onset(self) -> Range:
        """Give when the first warmth shows."""
        return self._when(self.laminate_k - self.room_k >= ONSET_K)

    def peak(self) -> Range:
        """Give when the laminate is hottest."""
        top = np.argmax(self.laminate_k, axis=0)
        return _range(np.where(top < len(self.after_s) - 1, self.after_s[top], np.inf))

    def peak_k(self) -> tuple[float, float, float]:
        """Give how hot laminate or mould get, the hidden share of the bead included."""
        top_k = np.maximum(np.max(self.laminate_k, axis=0), np.max(self.mould_k, axis=0))
        low, likely, high = (float(np.quantile(top_k, share)) for share in SHARES)
        return low, likely, high

    def rest(self, wanted: Wanted) -> Range:
        """Give when the vacuum may come off."""
        return self._cooled(wanted, wanted.rest_conversion, wanted.rest_s)

    def pull(self, wanted: Wanted) -> Range:
        """Give when the part may be pulled."""
        return self._cooled(wanted, wanted.pull_conversion, wanted.pull_s)

    def target(self, conversion: float) -> Range:
        """Give when a conversion is reached; never, where this room stops it before."""
        return self._when(self.conversion >= conversion)

    def _cooled(self, wanted: Wanted, conversion: float, least_s: float) -> Range:
        past_peak = np.arange(len(self.after_s))[:, None] >= np.argmax(self.laminate_k, axis=0)
        cool = self.laminate_k - self.room_k <= wanted.near_room_k
        late = (self.after_s >= least_s)[:, None]
        return self._when(past_peak & cool & late & (self.conversion >= conversion))

    def _when(self, holds: np.ndarray) -> Range:
        first = np.argmax(holds, axis=0)
        # It began somewhere within the step that ended there.
        began_s = 0.5 * (self.after_s[first] + self.after_s[np.maximum(first - 1, 0)])
        return _range(np.where(np.any(holds, axis=0), began_s, np.inf))


def courses(some: Standing, rooms_k: tuple[float, ...], span_s: float = AHEAD_S) -> list[Course]:
    """Let the members go on for a span (s), once in each room (K); all rooms in one sweep."""
    times, count = _times(span_s), len(some.bank.bead)
    start = _tiled(some, len(rooms_k))
    room_k = np.repeat(np.array(rooms_k), count)
    bank, part, nodes = start.bank, start.part, start.nodes
    rows = [(nodes.laminate_k, nodes.mould_k, part.conversion)]
    for step_s in np.diff(times):
        part, nodes = _step(bank, part, nodes, room_k, float(step_s))
        rows.append((nodes.laminate_k, nodes.mould_k, part.conversion))
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    return [
        Course(
            after_s=times,
            laminate_k=columns[0][:, number * count : (number + 1) * count],
            mould_k=columns[1][:, number * count : (number + 1) * count],
            conversion=columns[2][:, number * count : (number + 1) * count],
            room_k=room,
            gel_conversion=bank.gel_conversion,
        )
        for number, room in enumerate(rooms_k)
    ]


def burnt(standing: Standing, weight: Array) -> tuple[float, float, float] | None:
    """Give the share of the inhibitor that is burnt, 5, 50 and 95 %; None where there is none."""
    if np.all(np.isinf(standing.bank.kinetics.induction_per_s)):
        return None
    low, likely, high = quantiles(standing.part.inhibitor, weight, SHARES)
    return low, likely, high


def _tiled(some: Standing, times: int) -> Standing:
    """Repeat every member for each room."""

    def tiled(record: Any) -> dict[str, Any]:  # noqa: ANN401 - any record of arrays
        held = {field.name: getattr(record, field.name) for field in fields(record)}
        return {k: np.tile(v, times) for k, v in held.items() if isinstance(v, np.ndarray)}

    kinetics = replace(some.bank.kinetics, **tiled(some.bank.kinetics))
    return Standing(
        replace(some.bank, kinetics=kinetics, **tiled(some.bank)),
        replace(some.part, **tiled(some.part)),
        replace(some.nodes, **tiled(some.nodes)),
    )


def _times(span_s: float) -> Array:
    fine = np.arange(0.0, min(span_s, FINE_S) + STEP_S / 2.0, STEP_S)
    return np.append(fine, np.arange(FINE_S + LATER_STEP_S, span_s + 1.0, LATER_STEP_S))


def _step(
    bank: Population, part: Progress, nodes: Nodes, room_k: Array, step_s: float
) -> tuple[Progress, Nodes]:
    kinetics = bank.kinetics
    warm_k = np.minimum(nodes.laminate_k, HOTTEST_K)
    gain = np.where(
        np.isinf(kinetics.induction_per_s), np.inf, induction_gain(kinetics, warm_k, warm_k, step_s)
    )
    waiting_s = np.clip((1.0 - part.inhibitor) / np.maximum(gain, TINY), 0.0, 1.0) * step_s
    grown_s = step_s - waiting_s
    half = _grown(
        part.conversion, conversion_rate_per_s(kinetics, part.conversion, warm_k), grown_s / 2
    )
    after = _grown(part.conversion, conversion_rate_per_s(kinetics, half, warm_k), grown_s)
    later = Progress(np.minimum(part.inhibitor + gain, 1.0), after)
    still = np.zeros_like(after)
    return later, warm(bank, nodes, room_k, after - part.conversion, still, step_s)


def _grown(conversion: Array, rate_per_s: Array, span_s: Array) -> Array:
    left = np.maximum(1.0 - conversion, TINY)
    return np.asarray(conversion - left * np.expm1(-rate_per_s * span_s / left))


def _range(after_s: Array) -> Range:
    low, likely, high = (_finite(np.quantile(after_s, s, method="higher")) for s in SHARES)
    return low, likely, high


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
