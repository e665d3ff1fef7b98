"""Words that are not of their channel's kind, and what may be believed of them.

The judgement here is arithmetic of its own on the layout of the words, not the decoder's.
"""

from __future__ import annotations

import random
import re
from collections.abc import Sequence

from tests.inputs.boards import SUPPLY

STRANGE = (
    "-", "!3", "!", "?", "99999999", "-99999999", "999999999999", "FFFFFFFF", "00000000",
    "7FFFFFFF", "1e5", "nan", "inf", "+5", "0x7F", "01901", "G1901900", "01901900 ", "",
    "32767", "32768", "-32768", "-32769", "8388607", "a" * 100,
)  # fmt: skip
ADC16_ENDS = (-32768, 32767)
SPAN_PA = (-2500.0, 105000.0)
"""A transducer of 100 kPa and what it may overshoot."""
COUPLE_SPAN_K = (3.0, 1646.0)
"""Type K by ITS-90: -270 to 1372 degC."""
FAULT_BITS = 0x00010007
"""MAX31855 (data sheet 19-5793, table 2): D16 any fault, D2 to VCC, D1 to ground, D0 open."""


def word_of(rng: random.Random) -> str:
    """Draw a word: strange, or by chance one of a channel's kind."""
    draw = rng.randrange(4)
    if draw == 0:
        return rng.choice(STRANGE)
    if draw == 1:
        return f"{rng.getrandbits(32):08X}"
    if draw == 2:
        return str(rng.randrange(-40000, 40000))
    return str(SUPPLY + rng.randrange(-200, 200))


def may_be_pressure(raws: Sequence[str], pressure_pa: float | None) -> bool:
    """Whether this pressure, or none, may be read from the first raw and the third, the supply."""
    if pressure_pa is None:
        return True
    if len(raws) < 3 or not all(re.fullmatch("-?[0-9]+", raws[index]) for index in (0, 2)):
        return False
    count, supply = int(raws[0]), int(raws[2])
    if count in ADC16_ENDS or not ADC16_ENDS[0] < count < ADC16_ENDS[1]:
        return False
    if not 0 < supply < ADC16_ENDS[1]:
        return False
    expected_pa = (count / supply - 0.1) / 0.8 * 100000.0
    is_in_span = SPAN_PA[0] <= pressure_pa <= SPAN_PA[1]
    return is_in_span and abs(pressure_pa - expected_pa) < 0.06


def may_be_couple(raws: Sequence[str], couple_k: float | None) -> bool:
    """Whether this temperature, or none, may be read from the second raw."""
    if couple_k is None:
        return True
    if len(raws) < 2 or not re.fullmatch("[0-9A-Fa-f]{8}", raws[1]):
        return False
    is_in_span = COUPLE_SPAN_K[0] <= couple_k <= COUPLE_SPAN_K[1]
    return is_in_span and not int(raws[1], 16) & FAULT_BITS
