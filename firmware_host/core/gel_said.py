"""What is said of conversion and gel: the bank's answer, and what the law itself may be off by.

Pure.
"""

from __future__ import annotations

import math

from firmware_host.cure.known import Outlook
from firmware_host.model.events import CureEstimated, GelForecast, GelPlaced

GEL_MODEL_ERROR = 0.04
"""Share of the time since mixing that a past gel is uncertain by, whatever the bank says."""
FORECAST_MODEL_ERROR = 0.08
"""The same for a gel to come: no law of the bank is quite the batch's own."""
CONVERSION_MODEL_ERROR = 0.02


def estimated(time_s: float, conversion: tuple[float, float, float]) -> CureEstimated:
    """Say a conversion: low, mean, high."""
    low, mean, high = conversion
    spread = CONVERSION_MODEL_ERROR * min(1.0, mean / 0.1)
    low, high = max(low - spread, 0.0), min(high + spread, 1.0)
    return CureEstimated(time_s=time_s, conversion=mean, low=low, high=high)


def forecast(now_s: float, outlook: Outlook, mixed_s: float, pour_sd_s: float) -> GelForecast:
    """Say a gel to come; `pour_sd_s` is the doubt about the moment of mixing."""
    low_s, gel_s, high_s = outlook.gel_s
    spread_s = FORECAST_MODEL_ERROR * max(gel_s - mixed_s, 0.0) + pour_sd_s
    return GelForecast(
        time_s=now_s, gel_s=gel_s, low_s=max(low_s - spread_s, mixed_s), high_s=high_s + spread_s
    )


def placed(now_s: float, outlook: Outlook, mixed_s: float) -> GelPlaced:
    """Say a gel that is past."""
    low_s, gel_s, high_s = outlook.gel_s
    model_s = GEL_MODEL_ERROR * max(gel_s - mixed_s, 0.0)
    before_s, after_s = (math.hypot(side_s - gel_s, model_s) for side_s in (low_s, high_s))
    return GelPlaced(
        time_s=now_s,
        gel_s=gel_s,
        low_s=max(gel_s - before_s, mixed_s),
        high_s=min(gel_s + after_s, max(now_s, high_s)),
    )
