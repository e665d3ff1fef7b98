"""The first minutes: couples against each other, gauges against the room. Said once, and kept.

Pure, on block means. Couples that see the same room differ by their zeros, which are taken off.
A gauge at room pressure differs from the barometer, or from the pressure that was typed, by zero
and span together; how much of it is left at vacuum nobody knows, so it is told and not taken off.
Where the typed figure is at fault (reduced to sea level, as weather services give it) that is said.
"""

from __future__ import annotations

from collections.abc import Mapping

from firmware_host.model.channels import Role
from firmware_host.model.events import ZeroFound

BLOCKS = 24
"""Two minutes."""
STEADY_PA = 300.0
LARGEST_PA, LARGEST_K = 3000.0, 3.0
"""Three per cent of a 100 kPa gauge; a couple further off is not merely off."""
ROOM_LEAST_PA = 60_000.0
SEA_LEVEL_PA, SEA_LEVEL_SPREAD_PA = 101_325.0, 4000.0
"""Weather at sea level is nearly always within 4 kPa of the standard atmosphere."""
SEA_LEVEL_EXCESS_PA = 1500.0
"""A typed figure this far above what a gauge reads is in question: 130 m of height."""


class Zeroing:
    """What each channel reads beside what it should, before anything happens."""

    def __init__(self, roles: Mapping[str, Role], station_pa: float | None) -> None:
        self._roles = roles
        self._station_pa = station_pa
        self._gauges = {
            name: list[float]()
            for name, role in roles.items()
            if role in (Role.BAG, Role.PUMP, Role.BAROMETER)
        }
        self._done: set[str] = set()

    def couples(self, now_s: float, zeros_k: Mapping[str, float | None]) -> list[ZeroFound]:
        """Tell the zeros of couples as they become known."""
        said: list[ZeroFound] = []
        for name, zero_k in zeros_k.items():
            if zero_k is None or name in self._done:
                continue
            self._done.add(name)
            sound = abs(zero_k) <= LARGEST_K
            text = (
                f"{name} reads {abs(zero_k):.1f} K {'above' if zero_k > 0.0 else 'below'} "
                f"the middle of all couples{'.' if sound else ', too far for a zero: check it.'}"
            )
            said.append(
                ZeroFound(
                    time_s=now_s,
                    channel=name,
                    against="couples",
                    offset=zero_k,
                    taken_off=sound,
                    sound=sound,
                    text=text,
                )
            )
        return said

    def gauges(
        self, now_s: float, means_pa: Mapping[str, float | None], *, pumped: bool
    ) -> list[ZeroFound]:
        """Take one block of the gauges while the bag is open to the room."""
        if pumped or len(self._done & set(self._gauges)) == len(self._gauges):
            return []
        for name, kept in self._gauges.items():
            mean_pa = means_pa.get(name)
            if mean_pa is None or mean_pa < ROOM_LEAST_PA:
                kept.clear()
                continue
            if kept and abs(mean_pa - kept[-1]) > STEADY_PA:
                kept.clear()
            kept.append(mean_pa)
            del kept[:-BLOCKS]
        return self._compare(now_s)

    def _compare(self, now_s: float) -> list[ZeroFound]:
        barometer = next((n for n, role in self._roles.items() if role is Role.BAROMETER), None)
        said: list[ZeroFound] = []
        for name, kept in self._gauges.items():
            if name in self._done or len(kept) < BLOCKS:
                continue
            mean_pa = sum(kept) / BLOCKS
            if name == barometer or barometer is None:
                said += self._against_typed(now_s, name, mean_pa)
            elif len(self._gauges[barometer]) == BLOCKS:
                room_pa = sum(self._gauges[barometer]) / BLOCKS
                said.append(self._told(now_s, name, mean_pa - room_pa, barometer))
        return said

    def _against_typed(self, now_s: float, name: str, mean_pa: float) -> list[ZeroFound]:
        if self._station_pa is None:
            return []
        return [self._told(now_s, name, mean_pa - self._station_pa, "typed")]

    def _told(self, now_s: float, name: str, offset_pa: float, against: str) -> ZeroFound:
        self._done.add(name)
        sound = abs(offset_pa) <= LARGEST_PA
        room = "the station pressure that was typed" if against == "typed" else f"the {against}"
        way = "above" if offset_pa > 0.0 else "below"
        text = f"{name} reads {abs(offset_pa) / 100.0:.0f} hPa {way} {room}"
        if against == "typed" and self._looks_reduced(offset_pa):
            sound = False
            measured_hpa = ((self._station_pa or 0.0) + offset_pa) / 100.0
            text += (
                f": is {(self._station_pa or 0.0) / 100.0:.0f} hPa a sea-level figure? "
                f"At the bench it should be near {measured_hpa:.0f} hPa"
            )
        elif not sound:
            text += ", too far for a zero: check the gauge"
        return ZeroFound(
            time_s=now_s,
            channel=name,
            against=against,
            offset=offset_pa,
            taken_off=False,
            sound=sound,
            text=text + ".",
        )

    def _looks_reduced(self, offset_pa: float) -> bool:
        typed_pa = self._station_pa
        if typed_pa is None or abs(typed_pa - SEA_LEVEL_PA) > SEA_LEVEL_SPREAD_PA:
            return False
        return offset_pa < -SEA_LEVEL_EXCESS_PA
