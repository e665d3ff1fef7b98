"""How far what was said of a foreign part is from what was true."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firmware_host.model.events import CureEstimated, GelForecast, GelPlaced
from tests.cure.unlike import Array
from tests.cure.unlike_jobs import BEFORE_S, Story

WAYS = (1.0 / 3.0, 0.5, 2.0 / 3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """One part. Errors of a time are shares of the true time from mixing to gel."""

    conversion_error: Array
    conversion_held: Array
    conversion_width: Array
    gel_error: float
    gel_held: bool
    gel_width: float
    forecast_error: tuple[float, ...]
    forecast_held: tuple[bool, ...]


def score(told: Story, said: Sequence[object]) -> Score:
    """Hold what was said of a part that gelled against the truth."""
    gel_s = told.course.gel_s
    estimates = [e for e in said if isinstance(e, CureEstimated) and e.time_s - BEFORE_S > gel_s]
    at_s = np.array([e.time_s - BEFORE_S for e in estimates])
    true = np.interp(at_s, told.course.time_s, told.course.conversion)
    low, high = (np.array([getattr(e, side) for e in estimates]) for side in ("low", "high"))
    placed = [e for e in said if isinstance(e, GelPlaced)]
    gel = placed[-1] if placed else None
    foreseen = [_by(said, way * gel_s) for way in WAYS]
    return Score(
        conversion_error=np.array([e.conversion for e in estimates]) - true,
        conversion_held=(low <= true) & (true <= high),
        conversion_width=high - low,
        gel_error=(gel.gel_s - BEFORE_S) / gel_s - 1.0 if gel else math.inf,
        gel_held=gel is not None and gel.low_s <= gel_s + BEFORE_S <= gel.high_s,
        gel_width=(gel.high_s - gel.low_s) / gel_s if gel else 0.0,
        forecast_error=tuple((e.gel_s - BEFORE_S) / gel_s - 1.0 for e in foreseen),
        forecast_held=tuple(e.low_s <= gel_s + BEFORE_S <= e.high_s for e in foreseen),
    )


def _by(said: Sequence[object], at_s: float) -> GelForecast:
    """Give the forecast that stood at a moment; the last that there was, if it was taken back."""
    known = [e for e in said if isinstance(e, GelForecast) and e.time_s - BEFORE_S <= at_s + 60.0]
    return known[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Many parts together."""

    parts: int
    conversion_rmse: float
    conversion_held: float
    conversion_width: float
    gel_median: float
    gel_p90: float
    gel_held: float
    forecast_error: tuple[float, ...]
    """Mean of the absolute share."""
    forecast_held: tuple[float, ...]

    def __str__(self) -> str:
        foreseen = "  ".join(
            f"{100.0 * error:4.0f} %{100.0 * held:4.0f}"
            for error, held in zip(self.forecast_error, self.forecast_held, strict=True)
        )
        return (
            f"{self.parts:5d}  {self.conversion_rmse:8.3f} {100 * self.conversion_held:5.0f} "
            f"{self.conversion_width:6.2f}  {100 * self.gel_median:6.1f} {100 * self.gel_p90:6.1f} "
            f"{100 * self.gel_held:5.0f}   {foreseen}"
        )


HEAD = (
    f"{'':<16}{'parts':>5}  {'rmse':>8} {'held':>5} {'width':>6}  {'gel %':>6} {'p90 %':>6} "
    f"{'held':>5}   gel foreseen at 1/3, 1/2, 2/3 of the way: error, held %"
)


def figures(scores: Sequence[Score]) -> Figures:
    """Put scores together: every minute after a gel counts alike, and every gel."""
    errors = np.concatenate([one.conversion_error for one in scores])
    gels = np.abs([one.gel_error for one in scores])
    ways = range(len(WAYS))
    return Figures(
        parts=len(scores),
        conversion_rmse=float(np.sqrt(np.mean(errors**2))),
        conversion_held=float(np.mean(np.concatenate([one.conversion_held for one in scores]))),
        conversion_width=float(np.mean(np.concatenate([one.conversion_width for one in scores]))),
        gel_median=float(np.median(gels)),
        gel_p90=float(np.quantile(gels, 0.9)),
        gel_held=float(np.mean([one.gel_held for one in scores])),
        forecast_error=tuple(
            float(np.mean([abs(one.forecast_error[way]) for one in scores])) for way in ways
        ),
        forecast_held=tuple(
            float(np.mean([one.forecast_held[way] for one in scores])) for way in ways
        ),
    )
