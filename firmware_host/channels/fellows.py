"""Couples against each other: one that came off, drifts, leapt, is reversed, swapped or stuck.

Pure, on block means. All couples of a bench see the same room before the pour, so their differences
then are their zeros. Later the others are the witness: a laminate couple that reads the shop while
its fellows and the mould are warm has come off; one that falls while they rise is reversed. The
form's couple has no equal: it owes what the form must have warmed by (`form.py`). Whatever has no
witness is not judged, except a fall that no laminate can make.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median

from firmware_host.channels.drift import Walk
from firmware_host.channels.fall import Fall
from firmware_host.channels.form import ANCHOR_BELOW_K, OWED_K, SLOWEST, Follower, FormHeat, missed
from firmware_host.channels.leads import Leads
from firmware_host.channels.leap import Leap
from firmware_host.channels.replaced import Replaced
from firmware_host.channels.scene import (
    AGREE_K,
    JUDGED,
    Accusation,
    Scene,
    Temps,
    others_of,
    since,
)
from firmware_host.model.channels import Role

ZERO_BLOCKS = 24
"""Blocks over which zeros are learnt: the first two minutes."""
WARM_K = 3.0
"""Rise of the witnesses over the shop from which a couple can be seen to be off."""
OFF_K, OFF_SHARE = 0.9, 0.20
"""A couple this near the shop reads the shop."""
OFF_FOR_S, FORM_FOR_S = 90.0, 60.0
"""The second where what a form owes was waited for already."""
FIRST_K, SECOND_K, LEFT_K, LEFT_SHARE, LEFT_FOR_S = 2.5, 1.5, 0.6, 0.25, 120.0
"""On the first warmth: one witness at 2.5 K, a second one that bears it out, and a couple that has
not moved from where it stood."""
BASE_GAIN = 0.05
"""Of the level at which a couple stands while all is calm; a minute or two."""
DRIFT_K, DRIFT_FOR_S, CALM_K = 2.5, 180.0, 2.0
AGREE_SHARE, LEAPT_AGREE_SHARE = 0.35, 0.15
"""Back with its fellows: within AGREE_K, or this share of their rise. A couple that once leapt or
walked must come nearer than one that fell off and was pressed on again."""
COLD_AGREE_K = 0.6
JUMP_FOR_S = 60.0
REVERSED_K, REVERSED_FOR_S = 2.0, 60.0
FOLLOW_K = 2.0
"""A couple that shows one code while its fellows move by this much is stuck."""
RETURN_FOR_S = 120.0

STRICT = ("jumped", "drifting", "reversed")
SEEN_COLD = ("jumped", "drifting", "stuck")
"""Faults whose end shows even while nothing is warm."""


@dataclass(slots=True)
class _Couple:
    zero_sum: float = 0.0
    zero_count: int = 0
    off_since_s: float | None = None
    left_since_s: float | None = None
    was_warm: bool = False
    """It has shown warmth: what it does while the kick fades is no being left behind."""
    base_k: float = 0.0
    """Rise that it showed while its fellows were not warm yet."""
    drift_since_s: float | None = None
    reversed_since_s: float | None = None
    well_since_s: float | None = None
    run_since_s: float | None = None
    at_run_k: tuple[float, float] = (0.0, 0.0)
    """Its fellows, and the slowest that its form may be, when its run began."""
    walk: Walk = field(default_factory=Walk)
    fall: Fall = field(default_factory=Fall)
    leap: Leap = field(default_factory=Leap)
    form: Follower | None = None
    """Of a couple on the form."""
    accused_of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """One couple in one block, among those that may testify."""

    now_s: float
    index: int
    temp_k: float
    shop_k: float | None
    room_k: float
    """The shop, or where all couples stood before the pour."""
    others_k: list[float]
    scene: Scene


class Fellows:
    """Compares the temperature channels of a bench."""

    def __init__(self, roles: Sequence[Role], form: FormHeat = SLOWEST) -> None:
        self.roles = tuple(roles)
        self._form = form
        self._couples = [self._couple(role) for role in roles]
        self._leads = Leads(self.roles)
        self._replaced = Replaced(roles)
        self.centre_k = 0.0
        """Middle of all couples while their zeros were learnt."""

    def _couple(self, role: Role, zero_sum: float = 0.0, zero_count: int = 0) -> _Couple:
        form = Follower(self._form) if role is Role.MOULD else None
        return _Couple(zero_sum, zero_count, form=form)

    def zeros_k(self) -> list[float | None]:
        """Give what each couple reads above the middle of all; None until it is known."""
        return [
            couple.zero_sum / couple.zero_count if couple.zero_count >= ZERO_BLOCKS else None
            for couple in self._couples
        ]

    def zeroed(self, temps_k: Temps) -> list[float | None]:
        """Take the learnt differences off; None until a channel's zero is known."""
        return [
            temp - zero if temp is not None and zero is not None else None
            for temp, zero in zip(temps_k, self.zeros_k(), strict=True)
        ]

    def judge(self, now_s: float, temps_k: Temps, scene: Scene) -> list[Accusation]:
        """Look at one block."""
        self._learn(temps_k, scene.believed)
        temps = self.zeroed(temps_k)
        calm = [ok and not wild for ok, wild in zip(scene.believed, scene.noisy, strict=True)]
        shop = self._shop(temps, calm)
        self._replaced.take(now_s, temps, shop)
        leapt = {i for i, couple in enumerate(self._couples) if couple.leap.since_s is not None}
        found = self._leads.judge(now_s, temps, scene, self.centre_k, leapt)
        named = {accusation.index for accusation in found}
        for index, role in enumerate(self.roles):
            temp = temps[index]
            if temp is None or not scene.believed[index] or index in named:
                self._couples[index].fall.rest()
            elif role is not Role.SHOP:
                look = _Look(
                    now_s=now_s,
                    index=index,
                    temp_k=temp,
                    shop_k=shop,
                    room_k=shop if shop is not None else self.centre_k,
                    others_k=self._witnesses(temps, scene, index) if role in JUDGED else [],
                    scene=scene,
                )
                found += self._fell(look) or self._among(look)
        for accusation in found:
            self._couples[accusation.index].accused_of = accusation.kind
        return found

    def _among(self, look: _Look) -> list[Accusation]:
        """Judge a couple by its fellows, where it has some."""
        if not look.others_k:
            return []
        self._stand(look)
        return self._did_not_follow(look) or self._judge_one(look) or self._walked_off(look)

    def _stand(self, look: _Look) -> None:
        """Take in how a couple stands while its fellows are not warm, and what its form does."""
        couple, others, room = self._couples[look.index], look.others_k, look.room_k
        warmest = max(others) - room
        if warmest < SECOND_K:
            couple.base_k += BASE_GAIN * (look.temp_k - room - couple.base_k)
        if couple.form is not None:
            couple.form.take(look.now_s, min(others), room)
            if warmest < ANCHOR_BELOW_K or couple.form.temp_k is None:
                couple.form.anchor(look.temp_k)

    def _fell(self, look: _Look) -> list[Accusation]:
        couple, scene = self._couples[look.index], look.scene
        if scene.heated or scene.handled or scene.noisy[look.index]:
            couple.fall.rest()
            return []
        witness = median(look.others_k) if look.others_k else None
        since_s = couple.fall.since(look.now_s, look.temp_k, look.temp_k - look.room_k, witness)
        return [] if since_s is None else [Accusation(look.index, "fallen_off", since_s)]

    def _walked_off(self, look: _Look) -> list[Accusation]:
        walk, scene = self._couples[look.index].walk, look.scene
        witnesses = look.others_k if look.shop_k is None else [*look.others_k, look.shop_k]
        agreed = len(witnesses) > 1 and max(witnesses) - min(witnesses) < AGREE_K
        if not agreed or scene.heated or scene.handled:
            walk.rest()
            return []
        middle = median(witnesses)
        walk.take(look.now_s, look.temp_k - middle, middle)
        since_s = walk.since(wet=scene.wet)
        return [] if since_s is None else [Accusation(look.index, "drifting", since_s)]

    def _did_not_follow(self, look: _Look) -> list[Accusation]:
        couple, middle_k = self._couples[look.index], median(look.others_k)
        form_k = couple.form.temp_k if couple.form is not None else None
        stands_k = (middle_k, middle_k if form_k is None else form_k)
        run_since_s = look.scene.runs_since_s[look.index]
        if couple.run_since_s != run_since_s:
            couple.run_since_s, couple.at_run_k = run_since_s, stands_k
        moved_k = [now_k - then_k for now_k, then_k in zip(stands_k, couple.at_run_k, strict=True)]
        moved = min(moved_k) > FOLLOW_K or max(moved_k) < -FOLLOW_K
        if not moved or look.now_s - run_since_s < OFF_FOR_S:
            return []
        return [Accusation(look.index, "stuck", run_since_s)]

    def _judge_one(self, look: _Look) -> list[Accusation]:
        couple, scene, now_s = self._couples[look.index], look.scene, look.now_s
        temp, room, others = look.temp_k, look.room_k, look.others_k
        warm = min(others) - room  # every witness must be warm: one that lies convicts nobody
        rise = temp - room
        judged = not (scene.heated or scene.handled or self._replaced.suspects(look.index))
        gained = min(abs(rise), abs(rise - couple.base_k))
        reads_shop = warm > WARM_K and gained < max(OFF_K, OFF_SHARE * warm)
        couple.was_warm |= gained > SECOND_K
        left = not couple.was_warm and _left_behind(gained, [other - room for other in others])
        backwards = warm > WARM_K and rise < -REVERSED_K
        if couple.form is not None:
            shown = rise - couple.base_k
            owed = couple.form.least_k(min(others)) - room - couple.base_k
            known = not self._replaced.suspects(look.index)
            backwards = known and owed > OWED_K and shown < -REVERSED_K
            reads_shop, left = not backwards and missed(owed, shown, rise), False
        couple.off_since_s = since(couple.off_since_s, now_s, holds=judged and reads_shop)
        couple.left_since_s = since(couple.left_since_s, now_s, holds=judged and left)
        couple.reversed_since_s = since(couple.reversed_since_s, now_s, holds=backwards)
        apart = min(abs(temp - other) for other in others) > DRIFT_K
        agreed = len(others) > 1 and max(others) - min(others) < AGREE_K
        calm = abs(warm) < CALM_K and agreed
        couple.drift_since_s = since(couple.drift_since_s, now_s, holds=apart and calm)
        jumped = couple.leap.since(now_s, temp, others, judged=not scene.noisy[look.index])
        for since_s, for_s, kind in (
            (couple.reversed_since_s, REVERSED_FOR_S, "reversed"),
            (couple.off_since_s, OFF_FOR_S if couple.form is None else FORM_FOR_S, "fallen_off"),
            (couple.left_since_s, LEFT_FOR_S, "fallen_off"),
            (couple.drift_since_s, DRIFT_FOR_S, "drifting"),
            (jumped, JUMP_FOR_S, "jumped"),
        ):
            if since_s is not None and now_s - since_s >= for_s:
                stuck = kind == "fallen_off" and self._shows_one_code(look)
                return [Accusation(look.index, "stuck" if stuck else kind, since_s)]
        return []

    def _shows_one_code(self, look: _Look) -> bool:
        """Tell whether a form's couple has repeated itself while the laminate moved."""
        couple, run_since_s = self._couples[look.index], look.scene.runs_since_s[look.index]
        moved_k = abs(median(look.others_k) - couple.at_run_k[0])
        long = look.now_s - run_since_s >= OFF_FOR_S
        return couple.form is not None and long and moved_k >= FOLLOW_K

    def agrees(self, now_s: float, index: int, temps_k: Temps) -> bool:
        """Tell whether an accused couple has been back with its fellows for long enough."""
        temps = self.zeroed(temps_k)
        temp = temps[index]
        everyone = [True] * len(temps)
        others = others_of(self.roles, temps, everyone, index)
        shop = self._shop(temps, everyone)
        room = shop if shop is not None else self.centre_k
        couple = self._couples[index]
        near = False
        if temp is not None and others:
            warm = median(others) - room
            share = LEAPT_AGREE_SHARE if couple.accused_of in STRICT else AGREE_SHARE
            apart = abs(temp - median(others))
            near = apart < max(AGREE_K, share * warm) and couple.accused_of != "swapped"
            cold = abs(warm) < AGREE_K and couple.accused_of in SEEN_COLD
            near = near and (warm > WARM_K or (cold and apart < COLD_AGREE_K))
        couple.well_since_s = since(couple.well_since_s, now_s, holds=near)
        back = couple.well_since_s is not None and now_s - couple.well_since_s >= RETURN_FOR_S
        if back:
            self._couples[index] = self._couple(
                self.roles[index], couple.zero_sum, couple.zero_count
            )
        return back

    def _learn(self, temps_k: Temps, believed: Sequence[bool]) -> None:
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

    def _witnesses(self, temps: Temps, scene: Scene, index: int) -> list[float]:
        """List what the others read whose zero is known."""
        believed = [
            ok and not self._replaced.suspects(other) for other, ok in enumerate(scene.believed)
        ]
        return others_of(self.roles, temps, believed, index)

    def _shop(self, temps: Temps, believed: Sequence[bool]) -> float | None:
        for index, temp in enumerate(temps):
            if self.roles[index] is Role.SHOP and temp is not None and believed[index]:
                return temp
        return None


def _left_behind(gained_k: float, fellows_k: list[float]) -> bool:
    """Tell whether a couple shows no heat while one fellow is warm and a second bears it out."""
    if len(fellows_k) < 2:
        return False
    *_, second, top = sorted(fellows_k)
    warm = top > FIRST_K and second > SECOND_K
    return warm and gained_k < min(LEFT_K, LEFT_SHARE * second)
