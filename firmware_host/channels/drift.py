"""A couple that walks off alone: away from its fellows, straight, while nothing else moves.

Pure, on block means. A drift has no physical excuse before the pour, nor downwards at any time; a
rise after the pour may be the first heat under that one couple. So a rise is called a drift only
where it is large, straight (heat that makes itself grows ever faster), and unshared.
"""

from __future__ import annotations

from dataclasses import dataclass

EVERY_S = 30.0
KEPT = 60
"""Half an hour of distances, one every thirty seconds."""
LEAST_POINTS = 20
"""Ten minutes."""
LEAST_K, LEAST_WARMING_K = 1.0, 2.0
"""A drift smaller than this is not worth a word; after the pour a rise must be larger."""
SHARED, SHARED_WARMING, SHARED_K = 0.4, 0.2, 0.2
"""Share of the walk by which the fellows may have moved meanwhile."""
STRAIGHT_FROM, STRAIGHT_TO = 0.45, 1.8
"""Second half's gain over the first half's; heat under a couple doubles within minutes."""
SIGMAS = 5.0


@dataclass(frozen=True, slots=True)
class _Point:
    time_s: float
    apart_k: float
    fellows_k: float


class Walk:
    """How one couple has stood to its fellows over the last half hour of calm."""

    __slots__ = ("_apart", "_due_s", "_fellows", "_points")

    def __init__(self) -> None:
        self._points: list[_Point] = []
        self._apart: list[float] = []
        self._fellows: list[float] = []
        self._due_s: float | None = None

    def rest(self) -> None:
        """Forget everything: the fellows do not agree, nobody can testify."""
        self._points.clear()
        self._apart.clear()
        self._fellows.clear()
        self._due_s = None

    def take(self, now_s: float, apart_k: float, fellows_k: float) -> None:
        """Take one block of calm."""
        self._apart.append(apart_k)
        self._fellows.append(fellows_k)
        if self._due_s is None:
            self._due_s = now_s + EVERY_S
        if now_s < self._due_s:
            return
        point = _Point(now_s, _mean(self._apart), _mean(self._fellows))
        self._points.append(point)
        del self._points[:-KEPT]
        self._apart.clear()
        self._fellows.clear()
        self._due_s = now_s + EVERY_S

    def since(self, *, wet: bool) -> float | None:
        """Say since when the couple has been walking off; None where it is not, or cannot tell."""
        points = self._points
        if len(points) < LEAST_POINTS:
            return None
        third = len(points) // 3
        first, middle, last = points[:third], points[third:-third], points[-third:]
        begun, between, ended = (_mean([p.apart_k for p in part]) for part in (first, middle, last))
        walked = ended - begun
        early, late = between - begun, ended - between
        warming = wet and walked > 0.0
        if abs(walked) < (LEAST_WARMING_K if warming else LEAST_K) or early * late <= 0.0:
            return None
        straight = STRAIGHT_FROM <= late / early <= STRAIGHT_TO
        outwards = abs(begun) < 0.5 * abs(walked) or begun * walked > 0.0
        fellows = [p.fellows_k for p in points]
        shared = (SHARED_WARMING if warming else SHARED) * abs(walked) + SHARED_K
        alone = max(fellows) - min(fellows) < shared
        clear = abs(walked) > SIGMAS * _scatter(points)
        return points[0].time_s if straight and outwards and alone and clear else None


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _scatter(points: list[_Point]) -> float:
    """Scatter of a point about its neighbours; a walk makes nearly none."""
    steps = [b.apart_k - a.apart_k for a, b in zip(points, points[1:], strict=False)]
    return float((_mean([step * step for step in steps]) / 2.0) ** 0.5)
