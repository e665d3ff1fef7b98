"""What the couples together say of the bench: one laminate temperature, mould, shop and cup.

Pure. Couples are zeroed against each other before the pour. A couple that sits badly sees only part
of the warmth, so the laminate is what the best seated of them show; where none is believed, the
mould, the last known or the shop stand in, and say how far they may be off. A shop that is not
measured is as warm as it last was, or as the bench was before the pour, less and less surely. A
couple that may be another one (`replaced.py`) speaks only where no other does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean

from firmware_host.channels.replaced import Replaced
from firmware_host.core.thermal_history import ThermalBlock
from firmware_host.cure.known import Temperatures
from firmware_host.model.channels import Role

STAND_IN_SD_K = {"mould": 1.0, "shop": 2.0, "last": 3.0}
WELL_SEATED = 0.85
"""A couple that has seen less than this share of what the best one saw is left out of the mean."""
TOLD_APART_K_S = 1800.0
"""K s of warmth that the best couple must have seen before any is left out: 3 K for 10 min."""
ZERO_SD_K = 2.0
"""Zero of a couple that may be another one: two of class 2 (IEC 60584-1, +-2.5 K taken for two
standard deviations, from memory) differ by 1.8 K, and their plugs add to it."""

ROOM_SD_K, BARE_SD_K = 0.5, 1.5
"""Of a room last seen, and of one that was never measured, at first."""
ROOM_SD_K_PER_H, MOST_ROOM_SD_K = 1.0, 4.0
"""What a shop drifts by; common practice, no source."""
ROOM_SETTLES_S = 600.0


class BenchTemperatures:
    """Turns blocks into `Temperatures`, remembering how much warmth each couple has seen."""

    def __init__(self, roles: tuple[Role, ...]) -> None:
        self._roles = roles
        self._warmth_k_s = [0.0] * len(roles)
        self._last_s: float | None = None
        self._replaced = Replaced(roles)
        self._room: _Room | None = None
        self._bare: _Room | None = None
        """The bench at first, where no room was ever measured."""
        self.laminate_k: float | None = None
        """The newest laminate temperature, zeroed."""

    def take(
        self, block: ThermalBlock, zeros: tuple[float, ...] | None, *, heated: bool
    ) -> Temperatures | None:
        """Take one block; None while nothing stands for the laminate."""
        zero_of = zeros or (0.0,) * len(self._roles)
        shown = [
            None if temp_k is None else temp_k - zero_k
            for temp_k, zero_k in zip(block.temps_k, zero_of, strict=True)
        ]
        self._replaced.take(block.time_s, shown, self._room.temp_k if self._room else None)
        means = {role: self._mean(role, shown) for role in set(self._roles)}
        laminate_k, sd_k = self._laminate(means)
        if laminate_k is None:
            return None
        shop_k, shop_sd_k = self._shop(block.time_s, means, laminate_k)
        self._keep_warmth(block.time_s, shown, shop_k)
        self.laminate_k = laminate_k
        mould_known = not self._unsure(Role.MOULD, shown)
        return Temperatures(
            time_s=block.time_s,
            laminate_k=laminate_k,
            stand_in_sd_k=sd_k,
            zero_sd_k=ZERO_SD_K if sd_k == 0.0 and self._unsure(Role.PART, shown) else 0.0,
            mould_k=means.get(Role.MOULD) if mould_known or sd_k > 0.0 else None,
            shop_k=shop_k,
            shop_sd_k=shop_sd_k,
            cup_k=means.get(Role.CUP),
            heated=heated,
        )

    def _mean(self, role: Role, shown: list[float | None]) -> float | None:
        """Mean of the believed couples of a role that see about as much as the best one."""
        speak = self._speakers(role, shown)
        seen = [
            (self._warmth_k_s[i], k) for i, k in enumerate(shown) if i in speak and k is not None
        ]
        if not seen:
            return None
        most = max(warmth for warmth, _ in seen)
        least = WELL_SEATED * most if most >= TOLD_APART_K_S else -1.0
        return fmean([temp_k for warmth, temp_k in seen if warmth >= least])

    def _speakers(self, role: Role, shown: list[float | None]) -> list[int]:
        """List the couples of a role that are read; those whose zero is known, if any is."""
        read = [i for i, k in enumerate(shown) if self._roles[i] is role and k is not None]
        return [i for i in read if not self._replaced.suspects(i)] or read

    def _unsure(self, role: Role, shown: list[float | None]) -> bool:
        """Tell whether all couples of a role that are read may be others than were zeroed."""
        speak = self._speakers(role, shown)
        return bool(speak) and all(self._replaced.suspects(i) for i in speak)

    def _keep_warmth(self, now_s: float, shown: list[float | None], shop_k: float) -> None:
        span_s = 0.0 if self._last_s is None else min(now_s - self._last_s, 60.0)
        self._last_s = now_s
        if any(
            temp_k is None
            for role, temp_k in zip(self._roles, shown, strict=True)
            if role is Role.PART
        ):
            return
        for index, temp_k in enumerate(shown):
            if temp_k is not None:
                self._warmth_k_s[index] += max(temp_k - shop_k, 0.0) * span_s

    def _shop(
        self, now_s: float, means: dict[Role, float | None], laminate_k: float
    ) -> tuple[float, float]:
        """Room temperature, or the best stand-in for it with how far it may be off."""
        measured_k = means.get(Role.SHOP)
        if measured_k is not None:
            self._room = _seen(now_s, measured_k, self._room)
            return measured_k, 0.0
        room = self._room or self._bare
        if room is None:
            mould_k = means.get(Role.MOULD)
            bare_k = laminate_k if mould_k is None else min(mould_k, laminate_k)
            room = self._bare = _Room(bare_k, BARE_SD_K, now_s)
        return room.temp_k, room.doubt_k(now_s)

    def _laminate(self, means: dict[Role, float | None]) -> tuple[float | None, float]:
        """Laminate temperature, or the best stand-in for it with how far it may be off."""
        if (part_k := means.get(Role.PART)) is not None:
            return part_k, 0.0
        if (mould_k := means.get(Role.MOULD)) is not None:
            return mould_k, STAND_IN_SD_K["mould"]
        if self.laminate_k is not None:
            return self.laminate_k, STAND_IN_SD_K["last"]
        if (shop_k := means.get(Role.SHOP)) is not None:
            return shop_k, STAND_IN_SD_K["shop"]
        return None, 0.0


@dataclass(frozen=True, slots=True)
class _Room:
    """What is known of a room that is not measured now."""

    temp_k: float
    sd_k: float
    since_s: float

    def doubt_k(self, now_s: float) -> float:
        """Give the standard deviation by a later moment: a shop drifts."""
        drift_k = ROOM_SD_K_PER_H * (now_s - self.since_s) / 3600.0
        return min(math.hypot(self.sd_k, drift_k), MOST_ROOM_SD_K)


def _seen(now_s: float, temp_k: float, before: _Room | None) -> _Room:
    """Take a reading of the room into its mean over ten minutes."""
    kept = math.exp(-(now_s - before.since_s) / ROOM_SETTLES_S) if before else 0.0
    mean_k = temp_k + kept * (before.temp_k - temp_k) if before else temp_k
    return _Room(mean_k, ROOM_SD_K, now_s)
