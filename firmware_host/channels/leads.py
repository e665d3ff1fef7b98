"""A shop couple that left everything behind, and leads in each other's place.

Pure, on zeroed block means; what a swap looks like is `swapped.py`.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from statistics import median

from firmware_host.channels.scene import (
    AGREE_K,
    JUDGED,
    Accusation,
    Scene,
    Temps,
    others_of,
    since,
)
from firmware_host.channels.swapped import left_cold, like_a_cup
from firmware_host.model.channels import Role

SHOP_ASTRAY_K, SHOP_ASTRAY_FOR_S = 5.0, 1800.0
"""A room that really changed so much would have taken the laminate along by then."""
SWAPPED_FOR_S, CUP_SWAPPED_FOR_S = 120.0, 60.0
LIVELY_S = 120.0


class Leads:
    """Where each lead of a bench is."""

    def __init__(self, roles: Sequence[Role]) -> None:
        self._roles = tuple(roles)
        self._astray_s: list[float | None] = [None] * len(self._roles)
        self._swapped_s: list[float | None] = [None] * len(self._roles)

    def judge(
        self, now_s: float, temps: Temps, scene: Scene, centre_k: float, leapt: Set[int]
    ) -> list[Accusation]:
        """Look at one block; `leapt` are couples that tell a lie of their own."""
        return self._shop_astray(now_s, temps, scene, centre_k) or self._swapped(
            now_s, temps, scene, centre_k, leapt
        )

    def _shop_astray(
        self, now_s: float, temps: Temps, scene: Scene, centre_k: float
    ) -> list[Accusation]:
        """Accuse a shop couple that left everything else behind for half an hour."""
        found: list[Accusation] = []
        for index, role in enumerate(self._roles):
            temp = temps[index]
            if role is not Role.SHOP or temp is None or not scene.believed[index]:
                continue
            others = others_of(self._roles, temps, scene.believed, index)
            together = len(others) > 1 and max(others) - min(others) < AGREE_K
            alone = together and abs(temp - median(others)) > SHOP_ASTRAY_K
            kept = together and abs(median(others) - centre_k) < AGREE_K
            self._astray_s[index] = since_s = since(
                self._astray_s[index], now_s, holds=alone and kept
            )
            if since_s is not None and now_s - since_s >= SHOP_ASTRAY_FOR_S:
                found.append(Accusation(index, "drifting", since_s))
        return found

    def _swapped(
        self, now_s: float, temps: Temps, scene: Scene, centre_k: float, leapt: Set[int]
    ) -> list[Accusation]:
        """Find two leads in each other's place, the shop's or the cup's and a couple's."""
        if scene.heated or scene.handled:
            return []
        judged = {
            index: temp - centre_k
            for index, temp in enumerate(temps)
            if temp is not None and scene.believed[index] and self._roles[index] in JUDGED
        }
        found: list[Accusation] = []
        for index, role in enumerate(self._roles):
            temp = temps[index]
            if role not in (Role.SHOP, Role.CUP) or temp is None or not scene.believed[index]:
                continue
            rise = temp - centre_k
            if role is Role.SHOP:
                lively = {i: now_s - scene.runs_since_s[i] < LIVELY_S for i in judged}
                moulds = {i: self._roles[i] is Role.MOULD for i in judged}
                other, for_s = left_cold(rise, judged, lively, moulds), SWAPPED_FOR_S
            else:
                other, for_s = like_a_cup(rise, judged) if scene.wet else None, CUP_SWAPPED_FOR_S
            if other in leapt:
                other = None  # it leapt there: a lie of its own
            self._swapped_s[index] = since_s = since(
                self._swapped_s[index], now_s, holds=other is not None
            )
            if other is not None and since_s is not None and now_s - since_s >= for_s:
                found += [Accusation(lead, "swapped", since_s) for lead in (other, index)]
        return found
