"""The air side: bag, valve, hose and pump, with every way gas gets in.

Two volumes hold gas: the bag (with everything up to the valve) and the pump side. What is
advanced is the amount of gas, so that nothing appears from nowhere when the bag shrinks or part of
its gas is warmed. Inside a step the flows are linear in the two pressures and solved exactly;
steps shorten by themselves while pressures move fast.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from simulations.film import Film
from simulations.flow import (
    CRITICAL_RATIO,
    hole_area_m2,
    hole_throughput_pa_m3_per_s,
    hose_conductance_m3_per_s,
)
from simulations.outgassing import OutgassingSettings, Pockets, Vapour
from simulations.pump import Pump, PumpSettings
from simulations.relax import relax_pair

LONGEST_STEP_S = 0.5
SHORTEST_STEP_S = 0.01
WANTED_CHANGE = 0.02
"""Largest relative change of a pressure that a step should make."""
LAMINAR_GAP_PA = 50.0
"""Below this difference flow through a hole is taken proportional to the difference."""
WIDEST_CONDUCTANCE_M3_PER_S = 0.02
"""Near atmosphere the hose is turbulent and passes no more than this."""
VENT_M2 = 8.0e-6
"""The opening of a bag that is not yet closed, or is released."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BagSettings:
    """[plant.bag]."""

    free_volume_l: Annotated[float, Meta(gt=0.0, le=10000.0)] = 3.0
    """With the bag pulled down; bag, hose and trap up to the shut valve."""
    lifted_share: Annotated[float, Meta(ge=0.0, le=100.0)] = 3.0
    """How many times that volume the film adds when it stands off the part."""
    lift_begins: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.85
    """Share of room pressure above which the film starts to stand off."""
    spring_share: Annotated[float, Meta(ge=0.0, le=2.0)] = 0.06
    """How much the breather springs back between vacuum and room pressure."""
    leak_pa_per_s: Annotated[float, Meta(ge=0.0, le=1.0e5)] = 0.25
    """Rise that the leak alone makes in the shut, deep bag."""
    warm_share: Annotated[float, Meta(ge=0.0, le=1.0)] = 0.25
    """Share of the gas that is as warm as the laminate."""
    hose_bore_mm: Annotated[float, Meta(gt=0.0, le=100.0)] = 5.0
    hose_length_m: Annotated[float, Meta(gt=0.0, le=100.0)] = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the air side has to know about the rest of the bench during a step."""

    room_pa: float
    shop_k: float
    laminate_k: float
    conversion: float
    wet: bool


class Bag:
    """The gas in the bag and at the pump."""

    def __init__(
        self,
        settings: BagSettings,
        pump: PumpSettings,
        outgassing: OutgassingSettings,
        around: Surroundings,
    ) -> None:
        self.settings = settings
        self.pump = Pump(pump)
        self.valve_opening = 1.0
        self.hose_share = 1.0
        self.vented = True
        self.leak_rise_pa = 0.0
        """Rise that air leaking in has made so far: the truth of a drop test."""
        self.bag_pa = around.room_pa
        self.pump_pa = around.room_pa
        self._film = Film(
            deep_m3=settings.free_volume_l * 1e-3,
            spring_share=settings.spring_share,
            lifted_share=settings.lifted_share,
            lift_begins=settings.lift_begins,
        )
        self._pockets = Pockets(outgassing, around.room_pa)
        self._vapour = Vapour(outgassing)
        self._leak_m2 = 0.0
        self._step_s = SHORTEST_STEP_S
        self.open_leak(settings.leak_pa_per_s, around)
        self._content_pa_m3 = self.bag_pa * self.volume_m3(around) * self._crowding(around)

    @property
    def isolated(self) -> bool:
        """Whether the valve is shut and the bag closed."""
        return self.valve_opening <= 0.0 and not self.vented

    def volume_m3(self, around: Surroundings, at_pa: float | None = None) -> float:
        """Free volume at a bag pressure; the present one unless given."""
        return self._film.volume_and_slope(self.bag_pa if at_pa is None else at_pa, around.room_pa)[
            0
        ]

    def open_leak(self, rise_pa_per_s: float, around: Surroundings) -> None:
        """Make the leak this large, stated as the rise it makes in the shut, deep bag."""
        throughput = rise_pa_per_s * self.settings.free_volume_l * 1e-3
        self._leak_m2 = hole_area_m2(throughput, around.room_pa, around.shop_k)
        self.disturb()

    def share_gas(self, volume_l: float, around: Surroundings) -> None:
        """Mix with another volume at room pressure, which is then shut off again.

        p' = (p V + p_room V2) / (V + V2): the amount of gas is kept.
        """
        volume_m3, other_m3 = self.volume_m3(around), volume_l * 1e-3
        mixed_pa = self.bag_pa * volume_m3 + around.room_pa * other_m3
        mixed_pa /= volume_m3 + other_m3
        volume_m3 = self.volume_m3(around, mixed_pa)
        self._content_pa_m3 = mixed_pa * volume_m3 * self._crowding(around)
        self.bag_pa = mixed_pa
        self.disturb()

    def disturb(self) -> None:
        """Somebody touched valve, pump or bag: take short steps until it has calmed down."""
        self._step_s = SHORTEST_STEP_S

    def advance(self, dt_s: float, around: Surroundings) -> None:
        """Let `dt_s` pass in steps of a length that suits how fast things move."""
        left_s = dt_s
        while left_s > 1e-12:
            step_s = min(left_s, self._step_s)
            moved = self._step(step_s, around)
            left_s -= step_s
            self._step_s = _next_step_s(moved, step_s, self._step_s)

    def _step(self, dt_s: float, around: Surroundings) -> float:
        """One exact linear step; the largest relative change of a pressure."""
        bag_before, pump_before = self._warmed_pa(around), self.pump_pa
        volume_m3, slope = self._film.volume_and_slope(bag_before, around.room_pa)
        crowding = self._crowding(around)
        bag_holds = (volume_m3 + bag_before * slope) * crowding
        pump_holds = self.pump.settings.side_volume_l * 1e-3
        hose = self._hose_m3_per_s(bag_before, pump_before)
        speed = self.pump.speed_m3_per_s(pump_before)

        leak, leak_falls = self._hole(self._leak_m2, bag_before, around)
        vent, vent_falls = self._hole(VENT_M2 if self.vented else 0.0, bag_before, around)
        back, back_falls = self._back_leak(pump_before, around)
        given = self._given_off_pa_m3(bag_before, hose, volume_m3, dt_s, around) / dt_s
        into_bag = leak + vent + given - hose * (bag_before - pump_before)
        into_pump = hose * (bag_before - pump_before) + back
        into_pump -= speed * (pump_before - self.pump.settings.ultimate_pa)

        bag_moves, pump_moves = relax_pair(
            -(leak_falls + vent_falls + hose) / bag_holds,
            hose / bag_holds,
            hose / pump_holds,
            -(back_falls + hose + speed) / pump_holds,
            (into_bag / bag_holds, into_pump / pump_holds),
            dt_s,
        )
        self.leak_rise_pa += (leak - leak_falls * 0.5 * bag_moves) / bag_holds * dt_s
        self._content_pa_m3 += bag_holds * bag_moves
        self.bag_pa = self._film.pressure_pa(
            self._content_pa_m3 / crowding, bag_before + bag_moves, around.room_pa
        )
        self.pump_pa = max(1.0, pump_before + pump_moves)
        return max(abs(bag_moves) / bag_before, abs(pump_moves) / pump_before)

    def _given_off_pa_m3(
        self, bag_pa: float, hose: float, volume_m3: float, dt_s: float, around: Surroundings
    ) -> float:
        pumped = max(0.0, hose * (bag_pa - self.pump_pa)) / bag_pa
        out = self._pockets.release_pa_m3(bag_pa, dt_s)
        if around.wet and not self.vented:
            out += self._vapour.release_pa_m3(
                volume_m3=volume_m3,
                pumped_m3_per_s=pumped,
                temp_k=around.laminate_k,
                conversion=around.conversion,
                dt_s=dt_s,
            )
        return out

    def _hose_m3_per_s(self, bag_pa: float, pump_pa: float) -> float:
        mean_pa = 0.5 * (bag_pa + pump_pa)
        bore_m = self.settings.hose_bore_mm * 1e-3
        free = hose_conductance_m3_per_s(bore_m, self.settings.hose_length_m, mean_pa)
        return min(free, WIDEST_CONDUCTANCE_M3_PER_S) * self.valve_opening * self.hose_share

    @staticmethod
    def _hole(area_m2: float, inside_pa: float, around: Surroundings) -> tuple[float, float]:
        """Throughput inwards and how fast it falls with the pressure inside."""
        gap_pa = around.room_pa - inside_pa
        if area_m2 <= 0.0:
            return 0.0, 0.0
        if abs(gap_pa) < LAMINAR_GAP_PA:
            edge_pa = around.room_pa - LAMINAR_GAP_PA
            per_pa = hole_throughput_pa_m3_per_s(area_m2, around.room_pa, edge_pa, around.shop_k)
            per_pa /= LAMINAR_GAP_PA
            return per_pa * gap_pa, per_pa
        if gap_pa < 0.0:
            out = hole_throughput_pa_m3_per_s(area_m2, inside_pa, around.room_pa, around.shop_k)
            return -out, out / -gap_pa
        flow = hole_throughput_pa_m3_per_s(area_m2, around.room_pa, inside_pa, around.shop_k)
        choked = inside_pa <= CRITICAL_RATIO * around.room_pa
        return flow, 0.0 if choked else flow / gap_pa

    def _back_leak(self, pump_pa: float, around: Surroundings) -> tuple[float, float]:
        if self.pump.running:
            return 0.0, 0.0
        through = self.pump.settings.back_leak_pa_m3_per_s
        return self._hole(hole_area_m2(through, around.room_pa, around.shop_k), pump_pa, around)

    def _crowding(self, around: Surroundings) -> float:
        """Amount of gas over the amount the same volume holds at shop temperature."""
        warm = self.settings.warm_share
        return 1.0 - warm + warm * around.shop_k / around.laminate_k

    def _warmed_pa(self, around: Surroundings) -> float:
        """Bag pressure after the gas has taken its present temperature."""
        content = self._content_pa_m3 / self._crowding(around)
        return self._film.pressure_pa(content, self.bag_pa, around.room_pa)


def _next_step_s(moved: float, taken_s: float, allowed_s: float) -> float:
    wanted_s = taken_s * WANTED_CHANGE / max(moved, 1e-9)
    return min(max(wanted_s, SHORTEST_STEP_S), 2.0 * allowed_s, LONGEST_STEP_S)
