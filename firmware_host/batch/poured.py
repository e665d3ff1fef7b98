"""The dose as it was poured, from what a person said with the mark `dosed`. Pure.

Sticky gloves write short: "2.9 g", "52 drops", "1.4 %". Anything else is a note, not a dose.
"""

from __future__ import annotations

import re

from firmware_host.batch.dose import percent_of_drops
from firmware_host.config.plan_tables import Dropper

_SAID = re.compile(r"\s*(\d{1,5}(?:[.,]\d{1,4})?)\s*(g|gram|grams|drop|drops|%)\s*", re.IGNORECASE)
LARGEST_PERCENT = 10.0


def poured_percent(note: str, resin_g: float, dropper: Dropper | None) -> float | None:
    """Give initiator per 100 of resin; None where the note does not tell.

    >>> poured_percent("2.9 g", 193.33, None)
    1.5
    >>> poured_percent("as always", 193.33, None)
    """
    said = _SAID.fullmatch(note)
    if said is None:
        return None
    amount, unit = float(said[1].replace(",", ".")), said[2].casefold()
    percent: float | None = amount
    if unit.startswith("g"):
        percent = 100.0 * amount / resin_g
    elif unit.startswith("drop"):
        percent = None if dropper is None else percent_of_drops(amount, dropper, resin_g)
    if percent is None or not 0.0 < percent <= LARGEST_PERCENT:
        return None
    return round(percent, 4)
