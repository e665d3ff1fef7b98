"""The work clock: by when the bag must be sealed and the last wrinkle out, as in the plan.

    done      = integral dt / t_gel(T)          from mixing on, t_gel the law that the plan asks
    gel at    : done = exp(z sd)                z = 0 the median, -1.28 the one-sided 90 % earliest
    sealed by = mixed + 0.65 (earliest - mixed),  smoothed by = mixed + 0.8 (earliest - mixed)

Pure. At one temperature this is the plan's own window to the second; what the couples show since
moves it. A window that nothing of this shop supports is taken at its median, as in the plan. Where
all that was measured sees the gel much sooner, that is believed instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firmware_host.batch.work_window import (
    ONE_SIDED_90,
    SEALED_SHARE,
    SMOOTHED_SHARE,
    TWO_SIDED_95,
)
from firmware_host.config.schema import JobDescription
from firmware_host.cure.known import Outlook
from firmware_host.history.law import law_of, steady_equivalent_c
from firmware_host.history.prior import RatePrior
from hardware.units import ZERO_CELSIUS_K

PROVEN_BY = ("cup", "jobs")
MEASURED_ROOM = 1.2
"""The plan's earliest gel may lie this much beyond the bank's likely one, which is the lower of two
fair middles by up to 16 %; further off, something measured speaks against the plan."""


ASKED = 3
"""Shares of the clock that are asked for; once all are passed it may stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gates:
    """Moments on the job's time line."""

    sealed_by_s: float
    smoothed_by_s: float
    kick_low_s: float
    kick_high_s: float
    proven: bool


class WorkClock:
    """One pour's clock; `take` the laminate's temperature as it comes."""

    def __init__(self, job: JobDescription, learnt: RatePrior | None, mixed_s: float) -> None:
        """`job` starts where `learnt` put it."""
        self._law = law_of(job.resin)
        self._dose = _dose_of(job)
        self._sd = job.resin.ln_rate_sd if learnt is None else learnt.ln_sd
        self._proven = learnt is not None and learnt.source in PROVEN_BY
        self._mixed_s = self._now_s = mixed_s
        self._stated_k = _stated_k(job, self._dose)
        self._gel_s: float | None = None
        """Of the whole clock, at the newest temperature."""
        self._done = 0.0
        self._crossed: dict[float, float] = {}
        """When the clock passed each share that is asked for."""

    def take(self, now_s: float, temp_k: float) -> None:
        """Let the clock run to a moment at a temperature."""
        span_s = now_s - self._now_s
        if span_s <= 0.0 or len(self._crossed) == ASKED:
            return
        gel_s = 60.0 * self._law.gel_min(temp_k, self._dose)
        done = self._done + span_s / gel_s
        for sds in (-TWO_SIDED_95, self._early_sds, TWO_SIDED_95):
            share = math.exp(sds * self._sd)
            if self._done < share <= done:
                self._crossed[sds] = self._now_s + (share - self._done) * gel_s
        self._gel_s, self._done, self._now_s = gel_s, done, now_s

    def gates(self, outlook: Outlook | None, mixed_sd_s: float) -> Gates | None:
        """Give the gates; None where neither couple nor person ever told a temperature.

        `mixed_sd_s` is the doubt about the moment of mixing: what is doubtful comes earlier.
        """
        early_s = self._at(self._early_sds)
        low_s, high_s = self._at(-TWO_SIDED_95), self._at(TWO_SIDED_95)
        if early_s is None or low_s is None or high_s is None:
            return None
        if outlook is not None:
            likely_s = self._mixed_s + MEASURED_ROOM * (outlook.gel_s[1] - self._mixed_s)
            early_s = min(early_s, likely_s)
            low_s, high_s = outlook.gel_s[0], outlook.gel_s[2]
        early_s = max(early_s - ONE_SIDED_90 * mixed_sd_s, self._mixed_s)
        span_s = early_s - self._mixed_s
        return Gates(
            sealed_by_s=self._mixed_s + SEALED_SHARE * span_s,
            smoothed_by_s=self._mixed_s + SMOOTHED_SHARE * span_s,
            kick_low_s=low_s,
            kick_high_s=high_s,
            proven=self._proven,
        )

    @property
    def _early_sds(self) -> float:
        return -ONE_SIDED_90 if self._proven else 0.0

    def _at(self, sds: float) -> float | None:
        """Say when the clock comes, or came, to a share of its median."""
        if sds in self._crossed:
            return self._crossed[sds]
        gel_s = self._gel_s
        if gel_s is None and self._stated_k is not None:
            gel_s = 60.0 * self._law.gel_min(self._stated_k, self._dose)
        if gel_s is None:
            return None
        return self._now_s + (math.exp(sds * self._sd) - self._done) * gel_s


def _dose_of(job: JobDescription) -> float:
    stated = job.job.initiator_percent
    return stated if stated > 0.0 else job.resin.initiator_reference_percent


def _stated_k(job: JobDescription, dose: float) -> float | None:
    """Fall back on what was measured by hand before the pour, as the plan does."""
    given = job.conditions
    if given.shop_c is None or given.resin_c is None or given.form_c is None:
        return None
    temp_c = steady_equivalent_c(
        job, shop_c=given.shop_c, resin_c=given.resin_c, form_c=given.form_c, dose=dose
    )
    return temp_c + ZERO_CELSIUS_K
