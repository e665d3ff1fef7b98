"""Residuals of every published gel table we have: of the shipped law, and of a fit to each table.

Sources are named beside the rows. The goal is on the shipped law: the median row must lie inside
the scatter that it claims for an unknown can.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import Family, JobDescription, JobTable
from firmware_host.history.law import prior_of
from tests.bench.figures import Found, Goal, Pair

NAME = "gel_tables"
GOAL = Goal(ratio=1.0)
GAS_CONSTANT_J_PER_MOLK = 8.31446261815324


@dataclass(frozen=True, slots=True)
class Row:
    """One printed gel time."""

    series: str
    family: Family
    temp_c: float
    percent: float
    minutes: float
    source: str


A, B = "resin maker's sheet, ortho polyester, 0.016 % Co", "resin maker's sheet, low emission"
C = "corrosion-resin selection guide, middle of its range"
POLYESTER, VINYLESTER = Family.POLYESTER, Family.VINYLESTER
ROWS = (
    Row("A", POLYESTER, 15.0, 1.0, 74.0, A),
    Row("A", POLYESTER, 15.0, 2.0, 28.0, A),
    Row("A", POLYESTER, 20.0, 1.0, 48.0, A),
    Row("A", POLYESTER, 20.0, 2.0, 19.0, A),
    Row("B", POLYESTER, 15.0, 1.0, 62.0, B),
    Row("B", POLYESTER, 15.0, 2.0, 41.0, B),
    Row("C", VINYLESTER, 70.0 / 1.8 - 32.0 / 1.8, 1.25, 35.0, C),
    Row("C", VINYLESTER, 80.0 / 1.8 - 32.0 / 1.8, 1.25, 22.5, C),
    Row("E", POLYESTER, 20.0, 2.0, 17.5, "supplier's guide to ratios, 15 to 20 min"),
    Row("F", POLYESTER, 25.0, 1.8, 13.5, "answer page on gel coat, 10 to 17 min"),
    Row("G", POLYESTER, 30.0, 1.5, 20.0, "supplier's sheet, summer grade, 15 to 25 min"),
    Row("G", POLYESTER, 30.0, 1.5, 12.5, "supplier's sheet, winter grade, 10 to 15 min"),
)
OUTLIERS = (
    Row("D", POLYESTER, 5.0, 4.0, 120.0, "sailing page, gel-coat chart; 144 kJ/mol, rejected"),
    Row("D", POLYESTER, 20.0, 4.0, 5.0, "sailing page, gel-coat chart; 144 kJ/mol, rejected"),
)
PUBLISHED_FIT = {"E": 57.8894, "A": 27.834, "B": 32.236, "C": 38.219, "pA": 1.36957, "pB": 0.59664}
"""Our joint fit of A, B and C, recomputed by an independent program; kJ/mol and minutes."""


def run(seed: int, *, full: bool) -> Found:
    """Print every row's residual."""
    del seed, full  # nothing is drawn: the tables are what they are
    fitted, residuals = joint_fit()
    for name, value in PUBLISHED_FIT.items():
        assert math.isclose(fitted[name], value, rel_tol=1e-4), (name, fitted[name], value)
    notes = [_line(row) for row in (*ROWS, *OUTLIERS)]
    said = ", ".join(f"{name} {value:.5g}" for name, value in fitted.items())
    notes.append(f"one E, own time and exponent per series: {said}")
    notes.append("its residuals, %: " + " ".join(f"{100.0 * one:+.1f}" for one in residuals))
    return Found(
        name=NAME,
        ours="|ln printed / shipped law| of a row",
        peer="scatter that the law claims for an unknown can, one sd of ln",
        goal=GOAL,
        pairs=tuple(Pair(ours=abs(_off(row)), peer=_sd(row.family)) for row in ROWS),
        notes=tuple(notes),
    )


def _line(row: Row) -> str:
    off = _off(row)
    return (
        f"{row.series}  {row.temp_c:5.1f} C  {row.percent:4.2f} %  printed {row.minutes:5.1f} min  "
        f"ln residual {off:+.2f} = {off / _sd(row.family):+.1f} sd  ({row.source})"
    )


def _off(row: Row) -> float:
    law = prior_of(_job(row.family)).law
    return math.log(row.minutes / law.gel_min(row.temp_c + 273.15, row.percent))


def _sd(family: Family) -> float:
    return PRESETS[family].ln_rate_sd


def _job(family: Family) -> JobDescription:
    return JobDescription(job=JobTable(part="table"), resin=PRESETS[family])


def joint_fit() -> tuple[dict[str, float], npt.NDArray[np.float64]]:
    """Least squares of ln t: one E, a time and an exponent per series, no dose term in C."""
    rows = [row for row in ROWS if row.series in "ABC"]
    design = np.array([_regressors(row) for row in rows])
    ln_t = np.log([row.minutes for row in rows])
    found = np.linalg.lstsq(design, ln_t, rcond=None)[0]
    names = ("E", "A", "B", "C", "pA", "pB")
    values = [found[0] / 1000.0, *np.exp(found[1:4]), *found[4:]]
    fitted = {name: float(value) for name, value in zip(names, values, strict=True)}
    return fitted, ln_t - design @ found


def _regressors(row: Row) -> list[float]:
    hot = (1.0 / (row.temp_c + 273.15) - 1.0 / 293.15) / GAS_CONSTANT_J_PER_MOLK
    series = [float(row.series == one) for one in "ABC"]
    dose = -math.log(row.percent / 1.5)
    return [hot, *series, dose * series[0], dose * series[1]]
