"""Looks ahead now and then: when gel, warmth, peak, rest and pull come, as it is and warmed.

Pure. A look costs more than a block, so it is taken every quarter of an hour before the
kick, every half after it, and at once when the resin's state or a lamp changed.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.config.schema import JobDescription
from firmware_host.core.cure_advice import warmer_rooms_k, warmest_wise
from firmware_host.core.cure_state import Policy
from firmware_host.cure.ahead import Course, Range, Wanted, courses
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.foresee import Standing, drawn
from firmware_host.cure.states import AFTER_KICK
from firmware_host.model.events import CaseAhead, CureForeseen, CureState

BEFORE_EVERY_S, AFTER_EVERY_S = 900.0, 1800.0
NOTHING: Range = (None, None, None)
SETTLED = (CureState.MAY_PULL,)
WARMS = (
    CureState.WAITING,
    CureState.LATE,
    CureState.NO_KICK,
    CureState.NOT_OBSERVABLE,
    CureState.DIED,
)
"""States in which warming may be thought of: before the kick, and after one that died."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What a look ahead rests on."""

    now_s: float
    mixed_s: float
    gel_s: float
    """The likely gel, past or to come."""
    state: CureState
    room_k: float
    laminate_k: float
    heated: bool
    peak_passed: bool
    governs: str | None
    policy: Policy


class Foresight:
    """One pour's looks ahead."""

    def __init__(self, job: JobDescription) -> None:
        self._job = job
        self._next_s = 0.0
        self._known: tuple[CureState, bool] | None = None
        self.newest: CureForeseen | None = None

    def look(self, batches: CureFilter, scene: Scene) -> CureForeseen | None:
        """Look ahead where it is due; None otherwise."""
        known = (scene.state, scene.heated)
        if scene.state in SETTLED and self._known == known:
            return None
        if scene.now_s < self._next_s and known == self._known:
            return None
        self._known = known
        after = scene.state in AFTER_KICK
        self._next_s = scene.now_s + (AFTER_EVERY_S if after else BEFORE_EVERY_S)
        self.newest = self._foresee(drawn(batches.standing(), batches.weights()), scene)
        return self.newest

    def _foresee(self, some: Standing, scene: Scene) -> CureForeseen:
        # Under a lamp the surroundings are as warm as the laminate; its switch is not foreseen.
        around_k = scene.laminate_k if scene.heated else scene.room_k
        warms = scene.state in WARMS and not scene.heated
        rooms = warmer_rooms_k(self._job, around_k) if warms else ()
        ways = courses(some, (around_k, *rooms))
        now = _case(ways[0], scene, None)
        warmer = [_case(way, scene, way.room_k) for way in ways[1:]]
        warmed = warmest_wise(self._job, warmer)
        return CureForeseen(
            time_s=scene.now_s,
            governs=scene.governs,
            cases=(now,) if warmed is None else (now, warmed),
            warm_to_k=None if warmed is None else warmed.warmed_k,
        )


def _case(way: Course, scene: Scene, warmed_k: float | None) -> CaseAhead:
    kicked = scene.state in AFTER_KICK
    gel_s = max(scene.gel_s - scene.mixed_s, 60.0)
    since_s = scene.now_s - scene.mixed_s
    policy = scene.policy
    wanted = Wanted(
        near_room_k=policy.near_room_k,
        rest_conversion=policy.rest_conversion,
        rest_s=policy.rest_gel_times * gel_s - since_s,
        pull_conversion=policy.pull_conversion,
        pull_s=policy.pull_gel_times * gel_s - since_s,
    )

    def at(after: Range) -> Range:
        low, likely, high = (None if s is None else scene.now_s + s for s in after)
        return low, likely, high

    return CaseAhead(
        warmed_k=warmed_k,
        gel_s=NOTHING if kicked else at(way.gel()),
        onset_s=NOTHING if kicked else at(way.onset()),
        peak_s=NOTHING if scene.peak_passed else at(way.peak()),
        hottest_k=way.peak_k(),
        rest_s=NOTHING if scene.state is CureState.MAY_REST else at(way.rest(wanted)),
        pull_s=at(way.pull(wanted)),
    )
