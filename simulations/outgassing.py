"""Gas in the bag that is no leak: air out of the breather and foam, vapour off wet resin.

Air leaves as a sum of pockets whose emptying times are spread so that together they follow
exp(-sqrt(t / tau)), the shape that diffusion out of cloth and foam shows. A pocket is a small
volume behind a resistance: it also fills again when the bag is vented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from simulations.flow import styrene_pressure_pa

POCKETS_PER_DECADE = 2
SHORTEST_SHARE = 0.02
LONGEST_SHARE = 20.0
"""Emptying times run over this range of the typical one; beyond it there is hardly any gas."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutgassingSettings:
    """[plant.outgassing]."""

    pocket_ml: Annotated[float, Meta(ge=0.0, le=2000.0)] = 12.0
    """Volume behind cloth, pleats and foam, all pockets together."""
    pocket_tau_s: Annotated[float, Meta(gt=0.0, le=1.0e5)] = 150.0
    vapour_ml_per_s: Annotated[float, Meta(ge=0.0, le=1000.0)] = 1.0
    """How fast styrene vapour comes off the wet laminate, as a conductance."""
    sealed_conversion: Annotated[float, Meta(gt=0.0, le=1.0)] = 0.15
    """Mean conversion at which the surface gives off no more vapour."""


def pocket_shares(typical_tau_s: float) -> tuple[tuple[float, float], ...]:
    """Split a stretched exponential of exponent 1/2 into pockets: (share, emptying time).

    exp(-sqrt(t / tau)) is the integral of rho(s) exp(-t / (tau s)) with
    rho(s) = exp(-s / 4) / (2 sqrt(pi s)), taken here on a grid even in ln s.
    """
    step = math.log(10.0) / POCKETS_PER_DECADE
    count = math.ceil(math.log(LONGEST_SHARE / SHORTEST_SHARE) / step) + 1
    grid = [SHORTEST_SHARE * math.exp(step * i) for i in range(count)]
    weights = [s * math.exp(-s / 4.0) / (2.0 * math.sqrt(math.pi * s)) for s in grid]
    total = sum(weights)
    return tuple(
        (weight / total, typical_tau_s * s) for weight, s in zip(weights, grid, strict=True)
    )


class Pockets:
    """Trapped air that trickles into the bag while the bag is below it."""

    def __init__(self, settings: OutgassingSettings, room_pa: float) -> None:
        shares = pocket_shares(settings.pocket_tau_s)
        self._volumes_m3 = [settings.pocket_ml * 1e-6 * share for share, _ in shares]
        self._taus_s = [tau_s for _, tau_s in shares]
        self._pressures_pa = [room_pa] * len(shares)

    def release_pa_m3(self, bag_pa: float, dt_s: float) -> float:
        """Let the pockets relax towards the bag for `dt_s`; gas that came out of them."""
        out_pa_m3 = 0.0
        for i, tau_s in enumerate(self._taus_s):
            fall_pa = (self._pressures_pa[i] - bag_pa) * -math.expm1(-dt_s / tau_s)
            self._pressures_pa[i] -= fall_pa
            out_pa_m3 += self._volumes_m3[i] * fall_pa
        return out_pa_m3


class Vapour:
    """Styrene vapour in the bag: given off by wet resin, carried away with what is pumped."""

    def __init__(self, settings: OutgassingSettings) -> None:
        self._settings = settings
        self.partial_pa = 0.0

    def release_pa_m3(
        self,
        *,
        volume_m3: float,
        pumped_m3_per_s: float,
        temp_k: float,
        conversion: float,
        dt_s: float,
    ) -> float:
        """Advance the partial pressure exactly over `dt_s`; vapour that came off the resin."""
        open_share = max(0.0, 1.0 - conversion / self._settings.sealed_conversion)
        give_m3_per_s = self._settings.vapour_ml_per_s * 1e-6 * open_share
        rate_per_s = (give_m3_per_s + pumped_m3_per_s) / volume_m3
        if rate_per_s <= 0.0:
            return 0.0
        saturated_pa = styrene_pressure_pa(temp_k)
        settled_pa = give_m3_per_s * saturated_pa / (give_m3_per_s + pumped_m3_per_s)
        reached = -math.expm1(-rate_per_s * dt_s)
        gap_pa = self.partial_pa - settled_pa
        mean_pa = settled_pa + gap_pa * reached / (rate_per_s * dt_s)
        self.partial_pa = settled_pa + gap_pa * (1.0 - reached)
        return give_m3_per_s * (saturated_pa - mean_pa) * dt_s
