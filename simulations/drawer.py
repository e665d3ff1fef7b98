"""The rig without its board: chips and gauges in the host's own hands, asked when the host likes.

Nobody sends here, so the rig's time moves when somebody asks. All that is asked within a moment
sees one reading of every channel, as converters beside each other would.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from firmware_host.clock import Clock
from hardware.barometer import bmp280_word
from hardware.channels import AdcCoupleSpec, AdcPressureSpec, ChannelSpec
from hardware.encoder import encode_fault, encode_raw, encode_supply
from simulations.board import LEAD_FAULTS
from simulations.rig import Marked, Rig
from simulations.sensors import CHIP_ABOVE_SHOP_K, PLACES, Lead, Reading

SUPPLY_V = 4.97


class Drawer:
    """A rig that runs by a clock from the moment when it is first asked."""

    def __init__(
        self, rig: Rig, clock: Clock, moment_s: float, say_mark: Callable[[str], None]
    ) -> None:
        """Prepare; readings are taken anew after `moment_s` of scenario time."""
        self.rig = rig
        self._clock, self._moment_s, self._say_mark = clock, moment_s, say_mark
        self._began_s: float | None = None
        self._readings: dict[str, Reading] = {}
        self._read_s = float("-inf")
        self._lock = threading.Lock()
        self.over = threading.Event()

    def word(self, name: str, spec: ChannelSpec) -> Callable[[], str]:
        """Give what a channel's chip holds whenever it is asked."""

        def now() -> str:
            with self._lock:
                self._catch_up()
                return self._encoded(name, spec)

        return now

    def supply(self, spec: AdcPressureSpec) -> Callable[[], str]:
        """Give the count of the transducers' supply."""
        return lambda: encode_supply(spec, SUPPLY_V)

    def barometer(self) -> str:
        """Give the word of the chip that measures the room; it sits at the couples' terminals."""
        return bmp280_word(self._room_pa, self._shop_k)

    @property
    def _room_pa(self) -> float:
        return self.rig.plant.shop.pressure_pa(self.rig.time_s)

    @property
    def _shop_k(self) -> float:
        return self.rig.plant.shop.temperature_k(self.rig.time_s)

    def _encoded(self, name: str, spec: ChannelSpec) -> str:
        reading = self._readings[name]
        if reading.value is None:
            return encode_fault(spec, LEAD_FAULTS[reading.lead])
        # A couple on a bare converter ends at terminals; a couple's chip is warmed by its board.
        above_k = 0.0 if isinstance(spec, AdcCoupleSpec) else CHIP_ABOVE_SHOP_K
        return encode_raw(
            spec,
            reading.value,
            supply_v=SUPPLY_V,
            station_pressure_pa=self._room_pa,
            cold_junction_k=self._shop_k + above_k,
        )

    def _measure(self) -> None:
        """Read every channel; a chip that has no new reading holds its last."""
        while True:
            read = self.rig.read().items()
            self._readings.update({n: r for n, r in read if r.lead is not Lead.NOT_READ})
            if self._readings.keys() >= PLACES.keys():
                return

    def _catch_up(self) -> None:
        mono_s = self._clock.monotonic_s()
        if self._began_s is None:
            self._began_s = mono_s
        now_s = min(mono_s - self._began_s, self.rig.scenario.head.length_s)
        for thing in self.rig.pass_time(now_s):
            if isinstance(thing, Marked):
                self._say_mark(thing.name)
        if now_s - self._read_s >= self._moment_s:
            self._read_s = now_s
            self._measure()
        if self.rig.over:
            self.over.set()
