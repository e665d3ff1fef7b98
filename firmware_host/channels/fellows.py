"""Couples against each other: one that came off, drifts, is reversed or does not follow.

Pure, on block means. All couples of a bench see the same room before the pour, so their differences
then are their zeros. Later the others are the witness: a laminate couple that reads the shop while
its fellows and the mould are warm has come off; one that falls while they rise is reversed.
Whatever has no witness is not judged.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median

from firmware_host.model.channels import Role

ZERO_BLOCKS = 24
"""Blocks over which zeros are learnt: the first two minutes."""
WARM_K = 3.0
"""Rise of the witnesses over the shop from which a couple can be seen to be off."""
OFF_K, OFF_SHARE = 0.9, 0.20
"""A couple this near the shop reads the shop."""
OFF_FOR_S = 90.0
DRIFT_K, DRIFT_FOR_S = 2.5, 300.0
AGREE_K = 1.2
JUMP_K, JUMP_BLOCKS, JUMP_FOR_S = 4.0, 4, 60.0
"""A couple that leaves its fellows by this much within fifteen seconds, while they hardly move."""
STILL_K = 0.8
SHOP_ASTRAY_K, SHOP_ASTRAY_FOR_S = 5.0, 1800.0
"""A room that really changed so much would have taken the laminate along by then."""
REVERSED_K, REVERSED_FOR_S = 2.0, 60.0
FOLLOW_K = 3.0
"""A couple that shows one code while its fellows move by this much is stuck."""
RETURN_FOR_S = 120.0

JUDGED = (Role.PART, Role.MOULD)


@dataclass(slots=True)
class _Couple:
    zero_sum: float = 0.0
    zero_count: int = 0
    off_since_s: float | None = None
    drift_since_s: float | None = None
    reversed_since_s: float | None = None
    well_since_s: float | None = None
    jump_since_s: float | None = None
    astray_since_s: float | None = None
    apart_k: deque[float] = field(default_factory=lambda: deque(maxlen=JUMP_BLOCKS))
    """How far it has been from its fellows lately."""
    others_k: deque[float] = field(default_factory=lambda: deque(maxlen=JUMP_BLOCKS))
    run_since_s: float | None = None
    witness_at_run_k: float = 0.0


@dataclass(frozen=True, slots=True)
class Accusation:
    """A couple that lies, and since when."""

    index: int
    kind: str
    since_s: float


class Fellows:
    """Compares the temperature channels of a bench."""

    def __init__(self, roles: Sequence[Role]) -> None:
        self.roles = tuple(roles)
        self._couples = [_Couple() for _ in roles]
        self.centre_k = 0.0
        """Middle of all couples while their zeros were learnt."""

    def zeroed(self, temps_k: Sequence[float | None]) -> list[float | None]:
        """Take the learnt differences off; None until a channel's zero is known."""
        return [
            temp - couple.zero_sum / couple.zero_count
            if temp is not None and couple.zero_count >= ZERO_BLOCKS
            else None
            for temp, couple in zip(temps_k, self._couples, strict=True)
        ]

    def judge(
        self,
        now_s: float,
        temps_k: Sequence[float | None],
        believed: Sequence[bool],
        runs_since_s: Sequence[float],
        *,
        heated: bool,
    ) -> list[Accusation]:
        """Look at one block.

        `believed` is False for channels at fault already; `runs_since_s` says since when each has
        shown the code that it shows.
        """
        self._learn(temps_k, believed)
        temps = self.zeroed(temps_k)
        shop = self._first(temps, believed, Role.SHOP)
        found = self._shop_astray(now_s, temps, believed)
        for index, role in enumerate(self.roles):
            temp = temps[index]
            if role not in JUDGED or temp is None or shop is None or not believed[index]:
                continue
            others = self._others(temps, believed, index)
            if not others:
                continue
            stuck = self._did_not_follow(index, runs_since_s[index], median(others), now_s)
            found += stuck or self._judge_one(now_s, index, temp, shop, others, heated=heated)
        return found

    def _did_not_follow(
        self, index: int, run_since_s: float, witness_k: float, now_s: float
    ) -> list[Accusation]:
        couple = self._couples[index]
        if couple.run_since_s != run_since_s:
            couple.run_since_s, couple.witness_at_run_k = run_since_s, witness_k
        if abs(witness_k - couple.witness_at_run_k) < FOLLOW_K or now_s - run_since_s < OFF_FOR_S:
            return []
        return [Accusation(index, "stuck", run_since_s)]

    def _judge_one(
        self,
        now_s: float,
        index: int,
        temp: float,
        shop: float,
        others: list[float],
        *,
        heated: bool,
    ) -> list[Accusation]:
        couple = self._couples[index]
        warm = min(others) - shop  # every witness must be warm: one that lies convicts nobody
        rise = temp - shop
        reads_shop = warm > WARM_K and abs(rise) < max(OFF_K, OFF_SHARE * warm)
        couple.off_since_s = _since(couple.off_since_s, now_s, holds=reads_shop and not heated)
        backwards = warm > WARM_K and rise < -REVERSED_K
        couple.reversed_since_s = _since(couple.reversed_since_s, now_s, holds=backwards)
        apart = min(abs(temp - other) for other in others) > DRIFT_K
        agreed = len(others) > 1 and max(others) - min(others) < AGREE_K
        calm = abs(warm) < AGREE_K and agreed
        couple.drift_since_s = _since(couple.drift_since_s, now_s, holds=apart and calm)
        jumped = self._jumped(couple, now_s, temp, others)
        for since_s, for_s, kind in (
            (couple.reversed_since_s, REVERSED_FOR_S, "reversed"),
            (couple.off_since_s, OFF_FOR_S, "fallen_off"),
            (couple.drift_since_s, DRIFT_FOR_S, "drifting"),
            (jumped, JUMP_FOR_S, "jumped"),
        ):
            if since_s is not None and now_s - since_s >= for_s:
                return [Accusation(index, kind, since_s)]
        return []

    def _jumped(
        self, couple: _Couple, now_s: float, temp: float, others: list[float]
    ) -> float | None:
        """Say since when a couple has stood where it leapt to, away from two or more fellows."""
        witness = median(others)
        apart = temp - witness
        if couple.jump_since_s is not None:
            stays = couple.apart_k and abs(apart - couple.apart_k[0]) > JUMP_K
            couple.jump_since_s = couple.jump_since_s if stays else None
            return couple.jump_since_s
        couple.apart_k.append(apart)
        couple.others_k.append(witness)
        leapt = len(others) > 1 and max(abs(apart - a) for a in couple.apart_k) > JUMP_K
        still = max(couple.others_k) - min(couple.others_k) < STILL_K
        couple.jump_since_s = now_s if leapt and still else None
        return couple.jump_since_s

    def _shop_astray(
        self, now_s: float, temps: Sequence[float | None], believed: Sequence[bool]
    ) -> list[Accusation]:
        """Accuse a shop couple that left everything else behind for half an hour."""
        found: list[Accusation] = []
        for index, role in enumerate(self.roles):
            temp, couple = temps[index], self._couples[index]
            if role is not Role.SHOP or temp is None or not believed[index]:
                continue
            others = self._others(temps, believed, index)
            together = len(others) > 1 and max(others) - min(others) < AGREE_K
            alone = together and abs(temp - median(others)) > SHOP_ASTRAY_K
            kept = together and abs(median(others) - self.centre_k) < AGREE_K
            couple.astray_since_s = _since(couple.astray_since_s, now_s, holds=alone and kept)
            since_s = couple.astray_since_s
            if since_s is not None and now_s - since_s >= SHOP_ASTRAY_FOR_S:
                found.append(Accusation(index, "drifting", since_s))
        return found

    def agrees(self, now_s: float, index: int, temps_k: Sequence[float | None]) -> bool:
        """Tell whether an accused couple has been back with its fellows for long enough."""
        temps = self.zeroed(temps_k)
        temp = temps[index]
        others = self._others(temps, [True] * len(temps), index)
        shop = self._first(temps, [True] * len(temps), Role.SHOP)
        couple = self._couples[index]
        near = False
        if temp is not None and others and shop is not None:
            warm = median(others) - shop
            near = warm > WARM_K and abs(temp - median(others)) < max(AGREE_K, 0.35 * warm)
        couple.well_since_s = _since(couple.well_since_s, now_s, holds=near)
        back = couple.well_since_s is not None and now_s - couple.well_since_s >= RETURN_FOR_S
        if back:
            self._couples[index] = _Couple(couple.zero_sum, couple.zero_count)
        return back

    def _learn(self, temps_k: Sequence[float | None], believed: Sequence[bool]) -> None:
        if all(couple.zero_count >= ZERO_BLOCKS for couple in self._couples):
            return
        known = [t for t, ok in zip(temps_k, believed, strict=True) if t is not None and ok]
        if len(known) < 2:
            return
        self.centre_k = centre = median(known)
        for temp, couple in zip(temps_k, self._couples, strict=True):
            if temp is not None and couple.zero_count < ZERO_BLOCKS:
                couple.zero_sum += temp - centre
                couple.zero_count += 1

    def _others(
        self, temps: Sequence[float | None], believed: Sequence[bool], index: int
    ) -> list[float]:
        return [
            temp
            for other, temp in enumerate(temps)
            if other != index
            and temp is not None
            and believed[other]
            and self.roles[other] in JUDGED
        ]

    def _first(
        self, temps: Sequence[float | None], believed: Sequence[bool], role: Role
    ) -> float | None:
        for index, temp in enumerate(temps):
            if self.roles[index] is role and temp is not None and believed[index]:
                return temp
        return None


def _since(since_s: float | None, now_s: float, *, holds: bool) -> float | None:
    if not holds:
        return None
    return since_s if since_s is not None else now_s
