"""The resin's own chemistry: an inhibitor that burns away, then growth that runs into glass.

Written from the mechanism and on purpose of another shape than the job file's law: the initiator
is used up while it burns the inhibitor, growth is choked by what inhibitor is left and starts
softly, and the end is set by the glass transition overtaking the temperature.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from hardware.units import ZERO_CELSIUS_K
from simulations.flow import GAS_CONSTANT_J_PER_MOLK

REFERENCE_K = 298.15
Positive = Annotated[float, Meta(gt=0.0, le=1.0e6)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinSettings:
    """[plant.resin]: the batch in the bucket, not what the label says."""

    dose_percent: Annotated[float, Meta(gt=0.0, le=10.0)] = 1.5
    """What really went in."""
    reference_percent: Annotated[float, Meta(gt=0.0, le=10.0)] = 1.5
    clock_min_at_25c: Positive = 26.0
    """Time in which fresh initiator at the reference dose would burn all inhibitor at 25 degC."""
    clock_activation_kj_per_mol: Annotated[float, Meta(ge=0.0, le=200.0)] = 55.0
    clock_dose_exponent: Annotated[float, Meta(ge=0.0, le=5.0)] = 0.9
    initiator_loss: Annotated[float, Meta(ge=0.0, lt=1.0)] = 0.15
    """Share of the initiator used up in one clock time."""
    inhibitor_softness: Annotated[float, Meta(gt=0.0, le=0.2)] = 0.01
    """Share of the inhibitor at which burning and growth are both half as fast."""
    growth_at_25c_per_s: Positive = 1.35e-3
    growth_activation_kj_per_mol: Annotated[float, Meta(ge=0.0, le=200.0)] = 44.0
    growth_dose_exponent: Annotated[float, Meta(ge=0.0, le=5.0)] = 0.5
    spark: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.03
    """Growth that needs no growth before it, relative to the self-feeding part."""
    order: Annotated[float, Meta(gt=0.0, le=5.0)] = 1.5
    gel_conversion: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.05
    heat_kj_per_kg: Annotated[float, Meta(gt=0.0, le=1000.0)] = 330.0
    glass_uncured_c: Annotated[float, Meta(ge=-150.0, le=50.0)] = -50.0
    glass_cured_c: Annotated[float, Meta(ge=20.0, le=300.0)] = 128.0
    glass_bend: Annotated[float, Meta(gt=0.0, le=1.0)] = 0.35
    glass_lead_k: Annotated[float, Meta(ge=-30.0, le=60.0)] = 12.0
    """Growth goes on until the glass transition is this far above the temperature."""
    glass_width_k: Annotated[float, Meta(gt=0.0, le=60.0)] = 7.0
    """How gradually glass stops it."""


BURNT = 1e-4
"""Below this share the inhibitor counts as gone; it would only make hot resin stiff."""
Chemistry = tuple[float, float, float]
"""Inhibitor left, initiator left, conversion: of one body of resin, or their rates."""
FRESH: Chemistry = (1.0, 1.0, 0.0)


class Resin:
    """The law of one batch; the bodies of resin (laminate, cup) keep their own state."""

    def __init__(self, settings: ResinSettings) -> None:
        self.settings = settings
        dose = settings.dose_percent / settings.reference_percent
        self._clock_per_s = math.pow(dose, settings.clock_dose_exponent) / (
            60.0 * settings.clock_min_at_25c
        )
        self._growth_per_s = (
            math.pow(dose, settings.growth_dose_exponent) * settings.growth_at_25c_per_s
        )
        self._clock_k = settings.clock_activation_kj_per_mol * 1e3 / GAS_CONSTANT_J_PER_MOLK
        self._growth_k = settings.growth_activation_kj_per_mol * 1e3 / GAS_CONSTANT_J_PER_MOLK

    def glass_transition_k(self, conversion: float) -> float:
        """Glass transition at a conversion (DiBenedetto).

        Tg = Tg0 + (Tg1 - Tg0) lam a / (1 - (1 - lam) a)
        """
        own = self.settings
        share = own.glass_bend * conversion / (1.0 - (1.0 - own.glass_bend) * conversion)
        span_k = own.glass_cured_c - own.glass_uncured_c
        return own.glass_uncured_c + span_k * share + ZERO_CELSIUS_K

    def rates(self, state: Chemistry, temp_k: float) -> Chemistry:
        """Change of a body's chemistry per second at a temperature."""
        inhibitor, initiator, conversion = state
        own = self.settings
        over = 1.0 / REFERENCE_K - 1.0 / temp_k
        clock = self._clock_per_s * math.exp(self._clock_k * over) * initiator
        growth = self._growth_per_s * math.exp(self._growth_k * over)
        left = max(0.0, 1.0 - conversion)
        free = 1.0
        if inhibitor > BURNT:
            free = own.inhibitor_softness / (inhibitor + own.inhibitor_softness)
        return (
            -clock * (1.0 - free),
            -clock * own.initiator_loss,
            growth * free * self._mobile(conversion, temp_k)
            * (own.spark + conversion) * math.pow(left, own.order),
        )  # fmt: skip

    def fastest_per_s(self, state: Chemistry, temp_k: float) -> float:
        """Upper bound of how fast a body's chemistry changes; steps are chosen from it."""
        over = 1.0 / REFERENCE_K - 1.0 / temp_k
        growth = self._growth_per_s * math.exp(self._growth_k * over)
        if state[0] <= BURNT:
            return growth
        clock = self._clock_per_s * math.exp(self._clock_k * over)
        return growth + clock / (state[0] + self.settings.inhibitor_softness)

    def _mobile(self, conversion: float, temp_k: float) -> float:
        """Share of the growth that glass leaves."""
        own = self.settings
        ahead_k = self.glass_transition_k(min(conversion, 1.0)) - temp_k - own.glass_lead_k
        return 1.0 / (1.0 + math.exp(min(60.0, ahead_k / own.glass_width_k)))
