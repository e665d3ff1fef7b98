"""The heat balance against closed forms, and whether its energy closes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from firmware_host.cure.heat import Array, Nodes, at_temperature, warm
from firmware_host.cure.population import MEMBERS, Population, population_of
from tests.cure.jobs import job_of

SHOP_K = 293.15
NONE = np.zeros(MEMBERS)


def bank(
    *, store: float, mould: float, top: float, back: float, contact: float, heat: float = 1.0
) -> Population:
    one = np.ones(MEMBERS)
    return replace(
        population_of(job_of()),
        laminate_j_per_m2k=store,
        mould_j_per_m2k=mould * one,
        loss_top_w_per_m2k=top * one,
        loss_back_w_per_m2k=back * one,
        contact_w_per_m2k=contact * one,
        heat_j_per_m2=heat * one,
    )


USUAL = bank(store=7590.0, mould=16000.0, top=9.0, back=6.0, contact=110.0)


def heated(members: Population, watts: float, span_s: float, step_s: float) -> Nodes:
    """Give a constant power to every laminate, from shop temperature on."""
    nodes = at_temperature(SHOP_K, SHOP_K, SHOP_K, MEMBERS)
    gain = np.full(MEMBERS, watts * step_s) / members.heat_j_per_m2
    for _ in range(round(span_s / step_s)):
        nodes = warm(members, nodes, SHOP_K, gain, NONE, step_s)
    return nodes


def test_a_step_of_heat_on_one_node_rises_as_the_closed_form_says() -> None:
    # (q/U)(1 - exp(-U t/C)): 100 W/m2, 13 W/m2K, 20 kJ/m2K, 1800 s: 5.3048696826 K, by hand.
    # Two nodes act as one of 20 kJ where nothing holds them apart: half the store and half the
    # loss each, and a contact a thousand times the losses.
    one = bank(store=10e3, mould=10e3, top=6.5, back=6.5, contact=1e6)
    nodes = heated(one, 100.0, 1800.0, 0.5)
    assert nodes.laminate_k[0] - SHOP_K == pytest.approx(5.3048696826, rel=3e-4)
    assert nodes.mould_k[0] - SHOP_K == pytest.approx(5.3048696826, rel=3e-4)


def test_the_error_of_a_step_is_proportional_to_its_length() -> None:
    """The implicit rule is of first order: a tenth of the step, a tenth of the error."""
    one = bank(store=10e3, mould=10e3, top=6.5, back=6.5, contact=1e6)
    errors = [
        abs(float(heated(one, 100.0, 1800.0, step_s).laminate_k[0]) - SHOP_K - 5.3048696826)
        for step_s in (20.0, 2.0)
    ]
    assert errors[0] / errors[1] == pytest.approx(10.0, rel=0.15)


def test_two_nodes_agree_with_an_adaptive_integrator() -> None:
    def change(_time_s: float, temp_k: Array) -> list[float]:
        across = 110.0 * (temp_k[0] - temp_k[1])
        return [
            (100.0 - 9.0 * (temp_k[0] - SHOP_K) - across) / 7590.0,
            (across - 6.0 * (temp_k[1] - SHOP_K)) / 16000.0,
        ]

    exact = solve_ivp(change, (0.0, 1800.0), [SHOP_K, SHOP_K], rtol=1e-9, atol=1e-9).y[:, -1]
    nodes = heated(USUAL, 100.0, 1800.0, 5.0)
    assert nodes.laminate_k[0] == pytest.approx(exact[0], abs=0.02)
    assert nodes.mould_k[0] == pytest.approx(exact[1], abs=0.02)


def test_the_steady_rise_is_power_over_loss() -> None:
    # The mould passes on through contact in series with its back: U = 9 + 1/(1/110 + 1/6).
    nodes = heated(USUAL, 100.0, 4.0e5, 2000.0)
    assert nodes.laminate_k[0] - SHOP_K == pytest.approx(100.0 / (9.0 + 1.0 / (1 / 110 + 1 / 6)))


def test_energy_closes_at_every_step() -> None:
    """What went in is in the stores or was lost at the temperatures of the step's end."""
    members = population_of(job_of())
    nodes = at_temperature(SHOP_K + 3.0, SHOP_K + 1.0, SHOP_K, MEMBERS)
    gain = np.linspace(0.0, 0.01, MEMBERS)
    for step_s in (1.0, 5.0, 60.0, 1800.0):
        after = warm(members, nodes, SHOP_K, gain, gain, step_s)
        given = members.heat_j_per_m2 * gain
        kept = members.laminate_j_per_m2k * (after.laminate_k - nodes.laminate_k)
        kept = kept + members.mould_j_per_m2k * (after.mould_k - nodes.mould_k)
        lost = members.loss_top_w_per_m2k * (after.laminate_k - SHOP_K)
        lost = (lost + members.loss_back_w_per_m2k * (after.mould_k - SHOP_K)) * step_s
        assert given == pytest.approx(kept + lost, abs=1e-6 * float(np.max(given)))
        nodes = after


def test_long_steps_stay_between_the_temperatures_they_join() -> None:
    start = at_temperature(SHOP_K + 40.0, SHOP_K + 10.0, SHOP_K + 80.0, MEMBERS)
    for span_s in (1.0, 600.0, 36000.0, 1e7):
        after = warm(population_of(job_of()), start, SHOP_K, NONE, NONE, span_s)
        for node_k in (after.laminate_k, after.mould_k, after.cup_k):
            assert np.all(node_k >= SHOP_K - 1e-9)
            assert np.all(node_k <= SHOP_K + 80.0)


def test_nothing_warms_without_heat() -> None:
    start = at_temperature(SHOP_K, SHOP_K, SHOP_K, MEMBERS)
    after = warm(population_of(job_of()), start, SHOP_K, NONE, NONE, 600.0)
    assert after.laminate_k == pytest.approx(SHOP_K, abs=1e-9)


def test_a_cup_cools_by_its_own_time_constant() -> None:
    # 100 g at 1800 J/kgK losing 0.2 W/K: tau 900 s.
    one = replace(USUAL, cup_j_per_k=180.0, cup_loss_w_per_k=np.full(MEMBERS, 0.2))
    nodes = at_temperature(SHOP_K, SHOP_K, SHOP_K + 50.0, MEMBERS)
    for _ in range(900):
        nodes = warm(one, nodes, SHOP_K, NONE, NONE, 1.0)
    assert nodes.cup_k[0] - SHOP_K == pytest.approx(50.0 / np.e, rel=1e-3)
