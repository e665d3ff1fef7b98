"""A person's drop rule, like "1 inHg in 5 min", as a limit in Pa/s."""

from __future__ import annotations

import re

from firmware_host.config.wording import nearest, quoted
from hardware.units import PRESSURE_UNITS, to_pascal

SECONDS_PER_UNIT = {"s": 1.0, "min": 60.0, "h": 3600.0}
AGREEMENT = 0.01
"""A rule and a limit given side by side may differ by this part: people round."""

_RULE = re.compile(
    r"([0-9]+(?:\.[0-9]+)?)\s*([A-Za-z]+)\s*(?:\bin\s+([0-9]+(?:\.[0-9]+)?)\s*|/\s*)([A-Za-z]+)"
)


def drop_limit_pa_per_s(rule: str) -> float:
    """Read the limit off a rule. Raises ValueError with what is wrong with it.

    >>> round(drop_limit_pa_per_s("10 mbar in 5 min"), 3)
    3.333
    """
    match = _RULE.fullmatch(rule.strip())
    if match is None:
        raise ValueError('must read like "1 inHg in 5 min", "10 mbar in 10 min" or "3.3 Pa/s"')
    amount, unit, span, time_unit = match.groups()
    if unit not in PRESSURE_UNITS:
        raise ValueError(_not_a_unit(unit, PRESSURE_UNITS))
    if time_unit not in SECONDS_PER_UNIT:
        raise ValueError(_not_a_unit(time_unit, tuple(SECONDS_PER_UNIT)))
    span_s = float(span or 1.0) * SECONDS_PER_UNIT[time_unit]
    if float(amount) == 0.0 or span_s == 0.0:
        raise ValueError("must allow some drop in some time; 0 can never be met")
    return to_pascal(float(amount), unit) / span_s


def _not_a_unit(word: str, known: tuple[str, ...]) -> str:
    return f"has the unit {quoted(word)}; use one of {', '.join(known)}.{nearest(word, known)}"
