"""Heat of the laminate on its mould, and of the left-over resin in its cup.

Each body is a small set of ordinary differential equations, chemistry and temperature together,
stepped by the classical fourth-order Runge-Kutta rule with a step that the chemistry chooses.
Losses grow a little with the difference (air rises off warm things), unlike the job file's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from simulations.resin import BURNT, FRESH, Chemistry, Resin

Positive = Annotated[float, Meta(gt=0.0, le=1.0e5)]
LONGEST_STEP_S = 1.0
STEP_SHARE = 0.25
"""A step covers at most this share of the fastest time constant."""
LOSS_GROWS_PER_K = 0.004
"""Relative growth of a loss to air with the difference."""

State = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaminateSettings:
    """[plant.laminate]."""

    thickness_mm: Positive = 4.2
    resin_mass_fraction: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.55
    density_kg_per_m3: Positive = 1680.0
    specific_heat_j_per_kgk: Positive = 1200.0
    loss_top_w_per_m2k: Positive = 7.5
    contact_w_per_m2k: Positive = 90.0
    loss_back_w_per_m2k: Annotated[float, Meta(ge=0.0, le=1000.0)] = 5.0
    mould_heat_kj_per_m2k: Positive = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CupSettings:
    """[plant.cup]."""

    resin_g: Positive = 190.0
    specific_heat_j_per_kgk: Positive = 1850.0
    loss_w_per_k: Positive = 0.17


def runge_kutta(rates: Callable[[State], State], state: State, dt_s: float) -> State:
    """One classical fourth-order step."""
    half = 0.5 * dt_s
    first = rates(state)
    second = rates(tuple(y + half * k for y, k in zip(state, first, strict=True)))
    third = rates(tuple(y + half * k for y, k in zip(state, second, strict=True)))
    fourth = rates(tuple(y + dt_s * k for y, k in zip(state, third, strict=True)))
    return tuple(
        y + dt_s / 6.0 * (a + 2.0 * b + 2.0 * c + d)
        for y, a, b, c, d in zip(state, first, second, third, fourth, strict=True)
    )


def air_loss_w(coefficient_w_per_k: float, gap_k: float) -> float:
    """Heat lost to air over a temperature difference, per piece or per square metre."""
    return coefficient_w_per_k * gap_k * (1.0 + LOSS_GROWS_PER_K * abs(gap_k))


class Laminate:
    """Wet cloth on a mould: two temperatures, one chemistry."""

    def __init__(self, settings: LaminateSettings, resin: Resin, start_k: float) -> None:
        self.settings = settings
        self._resin = resin
        own = settings
        self.heat_j_per_m2k = (
            own.thickness_mm * 1e-3 * own.density_kg_per_m3 * own.specific_heat_j_per_kgk
        )
        self.mould_j_per_m2k = own.mould_heat_kj_per_m2k * 1e3
        resin_kg = own.thickness_mm * 1e-3 * own.density_kg_per_m3 * own.resin_mass_fraction
        self.reaction_j_per_m2 = resin_kg * resin.settings.heat_kj_per_kg * 1e3
        self.mixed = False
        self.chemistry: Chemistry = FRESH
        self.laminate_k = start_k
        self.mould_k = start_k
        self.lost_j_per_m2 = 0.0
        self.lamp_w_per_m2 = 0.0
        """Heat that a lamp or blanket puts into the laminate."""

    def advance(self, dt_s: float, shop_k: float) -> None:
        """Let `dt_s` pass at a shop temperature."""
        state: State = (*self.chemistry, self.laminate_k, self.mould_k, self.lost_j_per_m2)
        steps = _steps(dt_s, self._fastest_per_s())
        for _ in range(steps):
            state = runge_kutta(lambda y: self._rates(y, shop_k), state, dt_s / steps)
        self.chemistry = _settled(state)
        self.laminate_k, self.mould_k, self.lost_j_per_m2 = state[3:]

    def _fastest_per_s(self) -> float:
        own = self.settings
        conduction = (own.contact_w_per_m2k + own.loss_top_w_per_m2k) / self.heat_j_per_m2k
        chemistry = self._resin.fastest_per_s(self.chemistry, self.laminate_k)
        return max(conduction, chemistry if self.mixed else 0.0)

    def _rates(self, state: State, shop_k: float) -> State:
        inhibitor, initiator, conversion, laminate_k, mould_k, _ = state
        chemistry: Chemistry = (0.0, 0.0, 0.0)
        if self.mixed:
            chemistry = self._resin.rates((inhibitor, initiator, conversion), laminate_k)
        top_w = air_loss_w(self.settings.loss_top_w_per_m2k, laminate_k - shop_k)
        back_w = air_loss_w(self.settings.loss_back_w_per_m2k, mould_k - shop_k)
        to_mould_w = self.settings.contact_w_per_m2k * (laminate_k - mould_k)
        made_w = self.reaction_j_per_m2 * chemistry[2] + self.lamp_w_per_m2
        return (
            *chemistry,
            (made_w - top_w - to_mould_w) / self.heat_j_per_m2k,
            (to_mould_w - back_w) / self.mould_j_per_m2k,
            top_w + back_w,
        )


class Cup:
    """Left-over resin: much heat, little surface."""

    def __init__(self, settings: CupSettings, resin: Resin, start_k: float) -> None:
        self._loss_w_per_k = settings.loss_w_per_k
        self._resin = resin
        self.heat_j_per_k = settings.resin_g * 1e-3 * settings.specific_heat_j_per_kgk
        self.reaction_j = settings.resin_g * resin.settings.heat_kj_per_kg
        self.mixed = False
        self.chemistry: Chemistry = FRESH
        self.temp_k = start_k

    def advance(self, dt_s: float, shop_k: float) -> None:
        """Let `dt_s` pass at a shop temperature."""
        state: State = (*self.chemistry, self.temp_k)
        fastest = self._resin.fastest_per_s(self.chemistry, self.temp_k) if self.mixed else 0.0
        steps = _steps(dt_s, fastest)
        for _ in range(steps):
            state = runge_kutta(lambda y: self._rates(y, shop_k), state, dt_s / steps)
        self.chemistry = _settled(state)
        self.temp_k = state[3]

    def _rates(self, state: State, shop_k: float) -> State:
        inhibitor, initiator, conversion, temp_k = state
        chemistry: Chemistry = (0.0, 0.0, 0.0)
        if self.mixed:
            chemistry = self._resin.rates((inhibitor, initiator, conversion), temp_k)
        lost_w = air_loss_w(self._loss_w_per_k, temp_k - shop_k)
        return (*chemistry, (self.reaction_j * chemistry[2] - lost_w) / self.heat_j_per_k)


def _steps(dt_s: float, fastest_per_s: float) -> int:
    return max(1, math.ceil(dt_s / LONGEST_STEP_S), math.ceil(dt_s * fastest_per_s / STEP_SHARE))


def _settled(state: State) -> Chemistry:
    inhibitor, initiator, conversion = state[:3]
    gone = inhibitor <= BURNT
    return (0.0 if gone else inhibitor, max(0.0, initiator), min(1.0, conversion))
