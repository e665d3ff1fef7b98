"""A couple that was silent and comes back elsewhere: it may be another one, with a zero of its own.

Pure. A plug pulled and put back shows what it showed, or stands to its fellows as it did. Where it
does not, or where it has no fellow and the bench was warm, nobody knows whether the part or the
couple changed: it is no witness beside couples that never were away, it is not judged by where it
stands, and what it shows alone has an unknown zero, until it stands with the others while nothing
is warm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from firmware_host.channels.scene import JUDGED, since
from firmware_host.model.channels import Role

SILENT_FOR_S = 60.0
"""Less is a loose plug; nobody changes a couple in it."""
MOVED_K = 1.0
STANDS_K, CALM_K, STANDS_FOR_S = 0.6, 2.0, 120.0
"""Within the first of the others' middle while they are within the second of the room, for so
long: its zero is known again."""


@dataclass(slots=True)
class _Couple:
    last_k: float | None = None
    beside_k: float | None = None
    """What it read above its fellows of the same role."""
    silent_since_s: float | None = None
    stands_since_s: float | None = None
    suspected: bool = False


class Replaced:
    """Which couples may be others than those that were zeroed."""

    def __init__(self, roles: Sequence[Role]) -> None:
        self._roles = tuple(roles)
        self._couples = [_Couple() for _ in roles]

    def suspects(self, index: int) -> bool:
        """Tell whether a couple's zero is unknown."""
        return self._couples[index].suspected

    def take(self, now_s: float, temps_k: Sequence[float | None], room_k: float | None) -> None:
        """Take one block, zeros off; `room_k` is None where no room is known."""
        if all(temp_k is None for temp_k in temps_k):
            return  # nobody looked
        for index, (temp_k, couple) in enumerate(zip(temps_k, self._couples, strict=True)):
            if temp_k is None:
                couple.silent_since_s = since(couple.silent_since_s, now_s, holds=True)
                continue
            fellows_k = self._others(temps_k, index, (self._roles[index],))
            beside_k = temp_k - median(fellows_k) if fellows_k else None
            if couple.silent_since_s is not None:
                if now_s - couple.silent_since_s >= SILENT_FOR_S:
                    couple.suspected |= _moved(couple, temp_k, beside_k, room_k)
                couple.silent_since_s = None
            elif couple.suspected:
                others_k = self._others(temps_k, index, JUDGED)
                self._stand(couple, now_s, temp_k, others_k, room_k)
            couple.last_k, couple.beside_k = temp_k, beside_k

    def _stand(
        self,
        couple: _Couple,
        now_s: float,
        temp_k: float,
        others_k: list[float],
        room_k: float | None,
    ) -> None:
        """Take in whether a suspected couple stands with the others."""
        calm = bool(others_k) and all(_is_calm(other_k, room_k) for other_k in others_k)
        stands = calm and abs(temp_k - median(others_k)) <= STANDS_K
        couple.stands_since_s = since(couple.stands_since_s, now_s, holds=stands)
        if couple.stands_since_s is not None and now_s - couple.stands_since_s >= STANDS_FOR_S:
            couple.suspected, couple.stands_since_s = False, None

    def _others(
        self, temps_k: Sequence[float | None], index: int, roles: tuple[Role, ...]
    ) -> list[float]:
        """Couples of some roles that are themselves in order."""
        return [
            temp_k
            for other, temp_k in enumerate(temps_k)
            if other != index
            and temp_k is not None
            and self._roles[other] in roles
            and not self._couples[other].suspected
        ]


def _moved(couple: _Couple, temp_k: float, beside_k: float | None, room_k: float | None) -> bool:
    """Tell whether it came back elsewhere: beside its fellows or, without any, than it was."""
    if couple.beside_k is not None and beside_k is not None:
        return abs(beside_k - couple.beside_k) > MOVED_K
    if couple.last_k is None:
        return False
    calm = _is_calm(temp_k, room_k) and _is_calm(couple.last_k, room_k)
    return not calm or abs(temp_k - couple.last_k) > MOVED_K


def _is_calm(temp_k: float, room_k: float | None) -> bool:
    return room_k is not None and abs(temp_k - room_k) < CALM_K
