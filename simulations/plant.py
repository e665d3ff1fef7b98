"""The plant: bag, resin, heat and room as one bench with a time of its own.

Nothing here reads a clock; `advance(dt)` is the only way time passes, and the same seed with the
same calls gives the same bench.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from simulations.bag import Bag, BagSettings, Surroundings
from simulations.heat import Cup, CupSettings, Laminate, LaminateSettings
from simulations.outgassing import OutgassingSettings
from simulations.pump import PumpSettings
from simulations.resin import Resin, ResinSettings
from simulations.shop import Shop, ShopSettings

LONGEST_STEP_S = 0.5
"""Air and heat are advanced in turn; this bounds how far one runs ahead of the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantSettings:
    """[plant.*]: what the bench really is, as against what the job description says."""

    bag: BagSettings = field(default_factory=BagSettings)
    pump: PumpSettings = field(default_factory=PumpSettings)
    outgassing: OutgassingSettings = field(default_factory=OutgassingSettings)
    resin: ResinSettings = field(default_factory=ResinSettings)
    laminate: LaminateSettings = field(default_factory=LaminateSettings)
    cup: CupSettings = field(default_factory=CupSettings)
    shop: ShopSettings = field(default_factory=ShopSettings)


class Plant:
    """One bench. Its parts are public: an event acts on the part it concerns."""

    def __init__(self, settings: PlantSettings, seed: int) -> None:
        self.time_s = 0.0
        self.shop = Shop(settings.shop, random.Random(f"{seed}:shop"))
        resin = Resin(settings.resin)
        start_k = self.shop.temperature_k(0.0)
        self.laminate = Laminate(settings.laminate, resin, start_k)
        self.cup = Cup(settings.cup, resin, start_k)
        self.bag = Bag(settings.bag, settings.pump, settings.outgassing, self.surroundings())
        self.gel_s: float | None = None
        """When the laminate's mean conversion reached gel, in plant time."""
        self.hottest_k = start_k
        self.hottest_s = 0.0
        self._gel_conversion = settings.resin.gel_conversion

    @property
    def conversion(self) -> float:
        """Mean conversion of the laminate."""
        return self.laminate.chemistry[2]

    def mix(self) -> None:
        """Stir the initiator in: both bodies of resin begin to age."""
        self.laminate.mixed = True
        self.cup.mixed = True

    def surroundings(self) -> Surroundings:
        """Tell the air side what it sees now."""
        return Surroundings(
            room_pa=self.shop.pressure_pa(self.time_s),
            shop_k=self.shop.temperature_k(self.time_s),
            laminate_k=self.laminate.laminate_k,
            conversion=self.conversion,
            wet=self.laminate.mixed,
        )

    def advance(self, dt_s: float) -> None:
        """Let `dt_s` pass."""
        if dt_s < 0.0:
            raise ValueError(f"the plant cannot be turned back by {-dt_s} s")
        end_s = self.time_s + dt_s
        while self.time_s < end_s:
            self._step(min(LONGEST_STEP_S, end_s - self.time_s))
            if end_s - self.time_s < 1e-9:
                self.time_s = end_s

    def truth(self) -> dict[str, float]:
        """Tell the true value at every place: Pa absolute or K."""
        return {
            "bag": self.bag.bag_pa,
            "pump": self.bag.pump_pa,
            "barometer": self.shop.pressure_pa(self.time_s),
            "laminate": self.laminate.laminate_k,
            "mould": self.laminate.mould_k,
            "shop": self.shop.temperature_k(self.time_s),
            "cup": self.cup.temp_k,
        }

    def _step(self, dt_s: float) -> None:
        before = self.conversion
        shop_k = self.shop.temperature_k(self.time_s + 0.5 * dt_s)
        self.laminate.advance(dt_s, shop_k)
        self.cup.advance(dt_s, shop_k)
        self.bag.advance(dt_s, self.surroundings())
        self._note_gel(before, dt_s)
        self.time_s += dt_s
        if self.laminate.laminate_k > self.hottest_k:
            self.hottest_k, self.hottest_s = self.laminate.laminate_k, self.time_s

    def _note_gel(self, before: float, dt_s: float) -> None:
        """Place gel inside the step by a straight line."""
        if self.gel_s is None and self.conversion >= self._gel_conversion:
            share = (self._gel_conversion - before) / (self.conversion - before)
            self.gel_s = self.time_s + share * dt_s
