"""Kinetics and heat balance together against runs of scipy at 1e-12, and the handbook's energy.

The batch: k20 8e-4 /s, E 45 kJ/mol, m 0.8, n 1.2, from a conversion of 0.02, 280 kJ per kg of
resin that takes 1.9 kJ/kgK. The balance is stepped implicitly, so a step of a quarter second is
held to a few in a thousand; that its error shrinks with the step is tested beside the balance.
"""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from firmware_host.core.cure_state import CLOCK_OUT
from firmware_host.cure.heat import at_temperature, warm
from firmware_host.cure.population import CLOCK_MODEL_SD, Population, population_of
from firmware_host.physics.kinetics import (
    T20_K,
    T25_K,
    Kinetics,
    Progress,
    advance,
    arrhenius_factor,
)
from tests.cure.jobs import job_of

ONE = np.ones(1)
BATCH = Kinetics(
    induction_per_s=ONE * np.inf,
    induction_j_per_mol=ONE * 0.0,
    rate_per_s=ONE * 8e-4 * float(arrhenius_factor(45000.0, T25_K, T20_K)),
    rate_j_per_mol=ONE * 45000.0,
    seed=ONE * 1e-12,
    order_m=ONE * 0.8,
    order_n=ONE * 1.2,
    limit_at_20c=ONE * 9.0,
    limit_per_k=ONE * 0.0,
    throttled=False,
)
START = 0.02


def one_node(*, store: float, loss: float, heat: float) -> Population:
    """Laminate alone; the mould hardly touches it."""
    return replace(
        population_of(job_of()),
        kinetics=BATCH,
        laminate_j_per_m2k=store,
        mould_j_per_m2k=ONE,
        loss_top_w_per_m2k=ONE * loss,
        loss_back_w_per_m2k=ONE,
        contact_w_per_m2k=ONE * 1e-9,
        heat_j_per_m2=ONE * heat,
        bead=ONE,
        cup_loss_w_per_k=ONE,
        cup_heat_j=ONE * 0.0,
        dying=np.zeros(1, dtype=np.bool_),
        late=np.zeros(1, dtype=np.bool_),
    )


def run(
    bank: Population, room_k: float, until_s: float, step_s: float = 0.25
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time, temperature and conversion of one member, each half of a step in turn."""
    part = Progress(ONE.copy(), ONE * START)
    nodes = at_temperature(room_k, room_k, room_k, 1)
    rows = [(0.0, room_k, START)]
    for number in range(round(until_s / step_s)):
        later = advance(bank.kinetics, part, nodes.laminate_k, nodes.laminate_k, step_s)
        nodes = warm(bank, nodes, room_k, later.conversion - part.conversion, np.zeros(1), step_s)
        part = later
        rows.append(((number + 1) * step_s, float(nodes.laminate_k[0]), float(part.conversion[0])))
    time_s, temp_k, alpha = np.array(rows).T
    return time_s, temp_k, alpha


def test_without_losses_most_of_the_heat_comes_in_minutes() -> None:
    # T = 25 C + 147.36842 K (a - a0): a 0.1, 0.5, 0.9 at 651.751, 943.626, 969.175 s (scipy).
    bank = one_node(store=1900.0, loss=0.0, heat=280e3)
    time_s, temp_k, alpha = run(bank, 298.15, 1000.0)
    for target, expected_s in ((0.1, 651.751151), (0.5, 943.625585), (0.9, 969.174543)):
        assert np.interp(target, alpha, time_s) == pytest.approx(expected_s, rel=3e-3)
    assert temp_k - 298.15 == pytest.approx(147.36842 * (alpha - START), abs=1e-4)


def test_one_node_in_a_room_peaks_when_and_where_an_adaptive_rule_says() -> None:
    # C 20 kJ/m2K, U 13 W/m2K, 2.52 kg of resin per m2, room 20 C. scipy: peak 33.507047 C at
    # 3443.06 s with a = 0.7719605 there, and 0.9948806 at 10800 s.
    bank = one_node(store=20e3, loss=13.0, heat=280e3 * 2.52)
    time_s, temp_k, alpha = run(bank, T20_K, 10800.0, 2.0)
    top = int(np.argmax(temp_k))
    assert temp_k[top] - 273.15 == pytest.approx(33.507047, abs=0.03)
    assert time_s[top] == pytest.approx(3443.06, rel=3e-3)
    assert alpha[top] == pytest.approx(0.7719605, abs=4e-3)
    assert alpha[-1] == pytest.approx(0.9948806, abs=1e-4)
    # What went in is in the store or was lost: C (T - Ta) + U integral (T - Ta) dt = H m (a - a0).
    rise = temp_k - T20_K
    lost = 13.0 * 2.0 * float(np.sum(rise[1:]))
    assert 20e3 * rise[-1] + lost == pytest.approx(280e3 * 2.52 * (alpha[-1] - START), rel=1e-8)


@pytest.mark.parametrize(
    ("glass", "expected_k"),
    [(0.0, 147.36842), (0.3, 124.84076), (0.5, 103.70370), (0.6, 90.322581)],
)
def test_glass_takes_its_share_of_the_heat(glass: float, expected_k: float) -> None:
    # H w_r / (w_r c_r + w_g c_g), c 1.9 and 0.80 kJ/kgK: by hand. Here of 1 kg of laminate.
    resin = 1.0 - glass
    bank = one_node(store=1900.0 * resin + 800.0 * glass, loss=0.0, heat=280e3 * resin)
    nodes = at_temperature(298.15, 298.15, 298.15, 1)
    after = warm(bank, nodes, 298.15, ONE, np.zeros(1), 1.0)
    assert float(after.laminate_k[0]) - 298.15 == pytest.approx(expected_k, abs=1e-5)


@pytest.mark.parametrize(
    ("known_sd", "late", "out"), [(0.40, 2.0868721, 2.8349029), (0.15, 1.5087025, 1.7905091)]
)
def test_how_far_beyond_its_clock_a_batch_is_given_up(
    known_sd: float, late: float, out: float
) -> None:
    """exp(1.645 s) and exp(2.33 s), s holding 0.20 for the law itself; by mpmath."""
    sd = math.hypot(known_sd, CLOCK_MODEL_SD)
    assert math.exp(1.645 * sd) == pytest.approx(late, rel=1e-7)
    assert math.exp(2.33 * sd) == pytest.approx(out, rel=1e-7)
    # The state asks for the share of batches that would have gelled: the same limit, as a share.
    assert NormalDist().inv_cdf(CLOCK_OUT) == pytest.approx(2.33, abs=0.005)


@pytest.mark.parametrize("ln_rate_sd", [0.15, 0.40])
def test_the_bank_spreads_its_clocks_as_that_limit_takes_for_granted(ln_rate_sd: float) -> None:
    job = job_of()
    bank = population_of(replace(job, resin=replace(job.resin, ln_rate_sd=ln_rate_sd)))
    clocks = -np.log(bank.kinetics.induction_per_s[bank.usual])
    spread = math.hypot(ln_rate_sd, CLOCK_MODEL_SD)
    assert float(np.std(clocks)) == pytest.approx(spread, rel=0.03)
    out = float(np.quantile(clocks, CLOCK_OUT) - np.median(clocks))
    assert math.exp(out) == pytest.approx(math.exp(2.33 * spread), rel=0.08)
