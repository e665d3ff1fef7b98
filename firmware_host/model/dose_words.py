"""A dose as a person with sticky gloves says it: "2.9 g", "52 drops", "1.4 %". Pure.

Panel, core and history read it by the same few words, so that what the panel takes is what counts.
"""

from __future__ import annotations

import re
from enum import StrEnum

_SAID = re.compile(r"\s*(\d{1,5}(?:[.,]\d{1,4})?)\s*(g|gram|grams|drop|drops|%)\s*", re.IGNORECASE)


class DoseUnit(StrEnum):
    """In what a dose is counted."""

    GRAM = "g"
    DROP = "drops"
    PERCENT = "%"


def said_dose(text: str) -> tuple[float, DoseUnit] | None:
    """Read an amount with its unit; None for anything else, and for nothing at all.

    >>> said_dose("52 drops")
    (52.0, <DoseUnit.DROP: 'drops'>)
    >>> said_dose("as always"), said_dose("0 g")
    (None, None)
    """
    said = _SAID.fullmatch(text)
    if said is None:
        return None
    amount, word = float(said[1].replace(",", ".")), said[2].casefold()
    unit = DoseUnit.PERCENT
    if word != "%":
        unit = DoseUnit.GRAM if word.startswith("g") else DoseUnit.DROP
    return (amount, unit) if amount > 0.0 else None
