"""Leads in each other's place, seen on the first warmth.

Pure; rises are over the middle of all couples before the pour, by number of channel. Nothing else
makes the room warm as a laminate does while one couple in it stays cold and lively, and nothing
else makes one couple run away like left-over resin while the cup goes with the others.
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

WARM_K, WARM_MOULD_K = 3.0, 8.0
"""A heavy mould may stay cold for a while by itself."""
ALIKE_SHARE, ALIKE_K = 0.4, 1.2
COLD_K = 1.2
CUP_HOTTER_K, CUP_SHARE = 8.0, 0.4
"""A cup kicks before the laminate, and far hotter; one cold among cold fellows is none."""


def left_cold(
    shop_k: float,
    judged_k: Mapping[int, float],
    lively: Mapping[int, bool],
    mould: Mapping[int, bool],
) -> int | None:
    """Give the one live couple that stays as it began while shop and laminate warm alike.

    >>> left_cold(9.0, {0: 0.2, 1: 10.0}, {0: True, 1: True}, {0: False, 1: False})
    0
    """
    cold = [index for index, rise in judged_k.items() if abs(rise) < COLD_K]
    warm = [rise for rise in judged_k.values() if rise > WARM_K]
    if len(cold) != 1 or not warm or len(warm) + 1 != len(judged_k) or not lively[cold[0]]:
        return None
    middle = median(warm)
    alike = abs(shop_k - middle) < ALIKE_SHARE * middle
    enough = min(middle, shop_k) > (WARM_MOULD_K if mould[cold[0]] else WARM_K)
    return cold[0] if alike and enough else None


def like_a_cup(cup_k: float, judged_k: Mapping[int, float]) -> int | None:
    """Give the couple that behaves as the cup should while the cup goes with the others.

    >>> like_a_cup(1.0, {0: 40.0, 1: 1.5, 2: 1.0})
    0
    """
    if len(judged_k) < 2:
        return None
    *others, (hot_k, hot) = sorted((rise, index) for index, rise in judged_k.items())
    rises = [rise for rise, _ in others]
    middle = median(rises)
    alike = abs(cup_k - middle) < max(ALIKE_K, ALIKE_SHARE * middle)
    alone = hot_k > max(rises) + CUP_HOTTER_K and max(rises) < CUP_SHARE * hot_k
    return hot if alike and alone else None
