"""The published gel tables behind the presets, fitted here once more by least squares of ln t.

A: an orthophthalic polyester's data sheet, 4 % of a 0.4 % cobalt solution; B: a pre-accelerated
low-emission polyester of the same maker; C: a vinyl ester selection guide, the middle of its ranges
at 70 and 80 F. Minutes to gel; dose in percent of initiator solution.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

R = 8.31446261815324
A = ((15.0, 1.0, 74.0), (15.0, 2.0, 28.0), (20.0, 1.0, 48.0), (20.0, 2.0, 19.0))
B = ((15.0, 1.0, 62.0), (15.0, 2.0, 41.0))
C = ((21.0 + 1.0 / 9.0, None, 35.0), (26.0 + 2.0 / 3.0, None, 22.5))


def spread(temp_c: float) -> float:
    return (1.0 / (temp_c + 273.15) - 1.0 / 293.15) / R


def test_one_sheet_alone_gives_its_own_dose_law_and_activation() -> None:
    minutes = {(temp_c, dose): gel for temp_c, dose, gel in A}
    for temp_c, exponent in ((15.0, 1.4020984), (20.0, 1.3370350)):
        ratio = minutes[temp_c, 1.0] / minutes[temp_c, 2.0]
        assert np.log(ratio) / np.log(2.0) == pytest.approx(exponent, rel=1e-7)
    for dose, e_j in ((1.0, 60802.894), (2.0, 54468.060)):
        ratio = minutes[15.0, dose] / minutes[20.0, dose]
        assert np.log(ratio) / spread(15.0) == pytest.approx(e_j, rel=1e-7)


def test_three_tables_share_one_activation_and_no_dose_law() -> None:
    rows, seen = [], []
    for series, table in enumerate((A, B, C)):
        for temp_c, dose, gel_min in table:
            row = np.zeros(6)
            row[0], row[1 + series] = spread(temp_c), 1.0
            if dose is not None:
                row[4 + series] = -np.log(dose / 1.5)
            rows.append(row)
            seen.append(np.log(gel_min))
    e_j, *ln_times, p_a, p_b = np.linalg.lstsq(np.array(rows), np.array(seen), rcond=None)[0]
    assert e_j == pytest.approx(57889.4, rel=1e-4)
    assert np.exp(ln_times) == pytest.approx([27.834, 32.236, 38.219], rel=1e-4)
    assert (p_a, p_b) == pytest.approx((1.36957, 0.59664), rel=1e-4)


def test_an_inhibitor_that_is_burnt_away_explains_the_sheet_as_well() -> None:
    """t = tau exp(...) (-ln(1 - d*/d)): below d* it would never gel; two doses prove nothing."""

    def misses(x: np.ndarray) -> list[float]:
        return [
            x[0] + x[1] * spread(t) + np.log(-np.log(1.0 - x[2] / d)) - np.log(m) for t, d, m in A
        ]

    ln_tau, e_j, least = least_squares(
        misses, [4.0, 5e4, 0.5], x_scale=[1.0, 1e4, 0.1], xtol=1e-12
    ).x
    assert (np.exp(ln_tau), e_j, least) == pytest.approx((51.849, 57635.0, 0.60791), rel=1e-3)
