"""Pressure gauges against each other and against what a room can be.

Pure, on block means. Air flows from the bag to the pump, so that while the pump works the pump side
is never above the bag: a pair that shows the opposite while both fall is swapped, and a bag that
sinks below a pump side at its best has drifted. A bag that shows one code while the pump side draws
far below it is stuck, and so is a pump side that stays above a bag that falls. A barometer cannot
leap. Everything else a gauge may show can be the bag's doing, and the judge of leaks has to say
what it is.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from firmware_host.model.channels import Role

LEVEL_PA = 3000.0
"""Two gauges this near each other at room pressure see the same room."""
ROOM_LEAST_PA = 60_000.0
FALL_PA = 10_000.0
"""Both must have fallen by this much before the order of a pull-down is judged."""
BACKWARDS_PA, BACKWARDS_SHARE = 2500.0, 0.05
BACKWARDS_BLOCKS, UNMOVED_BLOCKS = 3, 12
"""A pump side still at room pressure a minute after the bag fell does not hang on the pump."""
BELOW_PA, BELOW_FOR_S = 2000.0, 300.0
"""How far below a working pump a bag cannot be, two gauges of 1 % allowed for, and for how long."""
FLOOR_PA = 300.0
STUCK_PA, STUCK_FOR_S = 3000.0, 180.0
FELL_PA = 10_000.0
LEAPT_PA, LEAPT_WITHIN_S = 1000.0, 1800.0
"""The fastest weather moves a barometer by some 300 Pa an hour (common practice, no source)."""
WEATHER_BLOCKS = 60
"""One barometer mean every thirty seconds over half an hour."""


@dataclass(frozen=True, slots=True)
class GaugeFound:
    """A gauge that lies: which, how, and since when."""

    role: Role
    kind: str
    since_s: float


@dataclass(slots=True)
class _Pulled:
    """One pull-down: where both gauges stood before it, and for how long the bag has led."""

    bag_pa: float
    pump_pa: float
    backwards: int = 0


class Gauges:
    """Compares bag, pump side and barometer; any of them may be absent or not believed."""

    def __init__(self) -> None:
        self._pulled: _Pulled | None = None
        self._floor_pa: float | None = None
        self._below_since_s: float | None = None
        self._drawn: tuple[float, float] | None = None
        """Since when the bag shows its code, and since when the pump side draws far below it."""
        self._bag_then: tuple[float, float] | None = None
        """Since when the pump side shows its code, and where the bag stood then."""
        self._weather: deque[tuple[float, float]] = deque(maxlen=WEATHER_BLOCKS)

    def judge(
        self,
        now_s: float,
        bag_pa: float | None,
        pump_pa: float | None,
        runs_since_s: tuple[float | None, float | None],
        *,
        drawing: bool,
    ) -> list[GaugeFound]:
        """Look at one block of bag and pump; None is a gauge that is absent or not believed.

        While nothing is drawn from the bag (valve shut, pump off, vacuum released) neither gauge
        has to follow the other.
        """
        if bag_pa is None or pump_pa is None:
            self._pulled, self._below_since_s = None, None
            self._bag_then, self._drawn = None, None
            return []
        order = self._pull_down(now_s, bag_pa, pump_pa)
        if not drawing:
            self._below_since_s, self._bag_then, self._drawn = None, None, None
            return order
        return [
            *order,
            *self._stuck(now_s, bag_pa, pump_pa, runs_since_s),
            *self._below(now_s, bag_pa, pump_pa),
        ]

    def weather(self, now_s: float, room_pa: float | None) -> list[GaugeFound]:
        """Look at one block of the barometer."""
        if room_pa is None:
            self._weather.clear()
            return []
        if not self._weather or now_s - self._weather[-1][0] >= 30.0:
            self._weather.append((now_s, room_pa))
        for time_s, before_pa in self._weather:
            if now_s - time_s <= LEAPT_WITHIN_S and abs(room_pa - before_pa) > LEAPT_PA:
                self._weather.clear()
                return [GaugeFound(Role.BAROMETER, "drifting", time_s)]
        return []

    def _pull_down(self, now_s: float, bag_pa: float, pump_pa: float) -> list[GaugeFound]:
        """Judge who falls first, from the moment that both leave the room's pressure."""
        level = abs(bag_pa - pump_pa) < LEVEL_PA
        if level and min(bag_pa, pump_pa) > ROOM_LEAST_PA:
            self._pulled = _Pulled(bag_pa, pump_pa)
            return []
        pulled = self._pulled
        if pulled is None:
            return []
        bag_fall, pump_fall = pulled.bag_pa - bag_pa, pulled.pump_pa - pump_pa
        margin_pa = max(BACKWARDS_PA, BACKWARDS_SHARE * max(bag_fall, pump_fall))
        if pump_fall - bag_fall > margin_pa or max(bag_pa, pump_pa) < ROOM_LEAST_PA / 2.0:
            self._pulled = None  # in order, or over
            return []
        uphill = bag_fall > FALL_PA and bag_fall - pump_fall > margin_pa
        pulled.backwards = pulled.backwards + 1 if uphill else 0
        if pulled.backwards < BACKWARDS_BLOCKS:
            return []
        if min(bag_fall, pump_fall) > FALL_PA:
            self._pulled = None
            return [GaugeFound(role, "swapped", now_s) for role in (Role.BAG, Role.PUMP)]
        if pulled.backwards < UNMOVED_BLOCKS:
            return []  # the pump side may yet follow
        self._pulled = None
        return [GaugeFound(Role.PUMP, "fallen_off", now_s)]

    def _stuck(
        self,
        now_s: float,
        bag_pa: float,
        pump_pa: float,
        runs_since_s: tuple[float | None, float | None],
    ) -> list[GaugeFound]:
        """Find a gauge whose code stands still where air must flow."""
        bag_since_s, pump_since_s = runs_since_s
        drawn = pump_pa < bag_pa - STUCK_PA and bag_since_s is not None
        if not drawn or self._drawn is None or self._drawn[0] != bag_since_s:
            self._drawn = (bag_since_s, now_s) if drawn and bag_since_s is not None else None
        if self._drawn is not None and now_s - self._drawn[1] >= STUCK_FOR_S:
            return [GaugeFound(Role.BAG, "stuck", self._drawn[0])]
        if pump_since_s is None:
            self._bag_then = None
            return []
        if self._bag_then is None or self._bag_then[0] != pump_since_s:
            self._bag_then = (pump_since_s, bag_pa)
        fell = self._bag_then[1] - bag_pa > FELL_PA and bag_pa < pump_pa - STUCK_PA
        if fell and now_s - pump_since_s >= STUCK_FOR_S:
            return [GaugeFound(Role.PUMP, "stuck", pump_since_s)]
        return []

    def _below(self, now_s: float, bag_pa: float, pump_pa: float) -> list[GaugeFound]:
        """Find a bag that reads below a pump that is at its best."""
        deep = pump_pa < 0.5 * ROOM_LEAST_PA
        if deep:
            self._floor_pa = pump_pa if self._floor_pa is None else min(self._floor_pa, pump_pa)
        works = deep and self._floor_pa is not None and pump_pa < self._floor_pa + FLOOR_PA
        if not works or bag_pa > pump_pa - BELOW_PA:
            self._below_since_s = None
            return []
        if self._below_since_s is None:
            self._below_since_s = now_s
        if now_s - self._below_since_s < BELOW_FOR_S:
            return []
        return [GaugeFound(Role.BAG, "drifting", self._below_since_s)]
