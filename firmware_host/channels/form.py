"""How far the form must have followed the laminate: what a couple on it owes, at the least.

Pure, on block means. Heat balance of a form of heat C between laminate and shop, by contact h and
loss U:

    C dT/dt = h (T_laminate - T) - U (T - T_shop)

It follows with the time constant C / (h + U) to the share h / (h + U) of the laminate's rise. Thin
glass does in minutes; plaster of 40 kJ/m2K behind 40 W/m2K takes a quarter of an hour, and its
couple is cold beside a warm laminate without a fault. A couple on the form has no equal, so only
this may convict it of not having warmed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FormHeat:
    """A form, per square metre."""

    heat_j_per_m2k: float
    contact_w_per_m2k: float
    loss_back_w_per_m2k: float


SLOWEST = FormHeat(heat_j_per_m2k=40e3, contact_w_per_m2k=40.0, loss_back_w_per_m2k=6.0)
"""Plaster some 30 mm thick behind a poor contact: of a form that nobody described."""
OWED_K, MISSED_SHARE = 0.8, 0.25
"""A couple that shows less than this share of what it owes has not followed its form. A real form
may be slower by half than its description: contact by a third, heat by a fifth."""
OWED_PLAINLY_K, AT_SHOP_SHARE, HALF = 3.0, 0.2, 0.5
"""One that stands where the shop is, and had stood elsewhere before, must owe more."""
ANCHOR_GAIN, ANCHOR_BELOW_K = 0.05, 0.75
"""Of what the couple shows while no fellow is this far over the shop; a minute or two."""


class Follower:
    """The least that a form warms, behind what its laminate and its shop have done."""

    __slots__ = ("_apart_k", "_end_share", "_laminate_k", "_seen_s", "_tau_s", "temp_k")

    def __init__(self, form: FormHeat) -> None:
        both = form.contact_w_per_m2k + form.loss_back_w_per_m2k
        self._tau_s = form.heat_j_per_m2k / both
        self._end_share = form.contact_w_per_m2k / both
        self._seen_s = 0.0
        self._laminate_k = 0.0
        self._apart_k = 0.0
        """Its couple over the laminate's in the calm: no more than an error of zeros, which a form
        that was warmer than the room before the pour leaves behind."""
        self.temp_k: float | None = None
        """What a form as described would show by now; None until it was first read."""

    def take(self, now_s: float, laminate_k: float, room_k: float) -> None:
        """Take one block; of a longer while the colder end counts.

        T <- E + (T - E) e^(-dt / tau), E = T_room + h / (h + U) (T_laminate - T_room).
        """
        if self.temp_k is not None:
            colder_k = min(laminate_k, self._laminate_k) + min(self._apart_k, 0.0)
            end_k = room_k + self._end_share * (colder_k - room_k)
            left = math.exp(-(now_s - self._seen_s) / self._tau_s)
            self.temp_k = end_k + (self.temp_k - end_k) * left
        self._seen_s, self._laminate_k = now_s, laminate_k

    def least_k(self, laminate_k: float) -> float:
        """Give the colder of this form and the fastest, which is as its laminate is."""
        fastest_k = laminate_k + min(self._apart_k, 0.0)
        return fastest_k if self.temp_k is None else min(fastest_k, self.temp_k)

    def anchor(self, shown_k: float) -> None:
        """Take in what its couple shows while laminate and shop are alike, sound or not."""
        apart_k = shown_k - self._laminate_k
        if self.temp_k is None:
            self.temp_k, self._apart_k = shown_k, apart_k
        self.temp_k += ANCHOR_GAIN * (shown_k - self.temp_k)
        self._apart_k += ANCHOR_GAIN * (apart_k - self._apart_k)


def missed(owed_k: float, gained_k: float, rise_k: float) -> bool:
    """Tell whether a couple cannot be on a form that owes so much over where it stood.

    `gained_k` is what it shows over where it stood in the calm, `rise_k` over the shop: a couple's
    zero is not always what was learnt, because a form may have been colder than its shop.

    >>> missed(1.5, 0.1, 0.1), missed(1.5, 0.7, 0.1), missed(4.0, 1.0, 0.2)
    (True, False, True)
    """
    if owed_k > OWED_K and gained_k < MISSED_SHARE * owed_k:
        return True
    at_shop = abs(rise_k) < AT_SHOP_SHARE * owed_k and gained_k < HALF * owed_k
    return owed_k > OWED_PLAINLY_K and at_shop
