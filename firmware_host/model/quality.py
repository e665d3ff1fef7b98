"""How good one reading is. Missing is never a number, and silence is never health.

Bad enters no estimate. Doubtful enters with less weight. Neither raises nor clears an alarm about
the part. Raw readings are stored, whatever is believed of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Quality(StrEnum):
    """What a reading is worth."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    """It may be right: noisy, spiky, patchy, or a jump that nothing has confirmed yet."""
    BAD = "bad"
    """It says nothing about the part: a fault word, or a channel found lying."""
    MISSING = "missing"
    """There is none, or none that is new enough."""


@dataclass(frozen=True, slots=True)
class Grade:
    """A reading's quality, and why it is not better."""

    quality: Quality
    why: str | None
    """None for a good one."""


GOOD = Grade(Quality.GOOD, None)
WEIGHT = {Quality.GOOD: 1.0, Quality.DOUBTFUL: 0.25, Quality.BAD: 0.0, Quality.MISSING: 0.0}
"""Weight in a mean; a doubtful reading counts as one of twice the scatter."""
