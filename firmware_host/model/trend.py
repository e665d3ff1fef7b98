"""The job so far in a few hundred points, for a client that comes late. Columns of one length."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """Means over equal steps of the job's time line; a step in which nobody watched is left out."""

    step_s: float
    time_s: tuple[float, ...]
    """End of each step."""
    bag_pa: tuple[float | None, ...]
    laminate_k: tuple[float | None, ...]
    """Mean of the laminate's own couples; no stand-in."""
    shop_k: tuple[float | None, ...]
