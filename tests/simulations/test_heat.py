import math

import pytest

from simulations.heat import Cup, CupSettings, Laminate, LaminateSettings, air_loss_w
from simulations.resin import FRESH, Resin, ResinSettings

SHOP_K = 295.15


def inert() -> Resin:
    return Resin(ResinSettings(heat_kj_per_kg=1e-3))


def test_the_inhibitor_lasts_as_long_as_the_closed_form_says() -> None:
    # dI/dt = -kd I, inhibitor falls by 2f kd I: tz = -(1/kd) ln(1 - z0 / (2f I0)) = 1743.53387 s
    # for kd 1e-4 /s, 2f I0 0.025, z0 0.004 (30-digit evaluation of the published form).
    clock_s = 0.004 / (0.025 * 1e-4)
    resin = Resin(
        ResinSettings(clock_min_at_25c=clock_s / 60.0, initiator_loss=0.16, inhibitor_softness=1e-5)
    )
    state, seconds = FRESH, 0
    while state[0] > 1e-3:
        rates = resin.rates(state, 298.15)
        state = (state[0] + rates[0], state[1] + rates[1], state[2])
        seconds += 1
    assert seconds == pytest.approx(1743.53387, abs=3.0)


def test_the_clock_runs_faster_in_the_warm_by_arrhenius() -> None:
    # k(30)/k(20) for 55 kJ/mol is 2.1050865498.
    resin = Resin(ResinSettings(clock_activation_kj_per_mol=55.0))
    ratio = resin.rates(FRESH, 303.15)[0] / resin.rates(FRESH, 293.15)[0]
    assert ratio == pytest.approx(2.1050865498, rel=1e-9)


def test_the_glass_transition_follows_the_published_curve() -> None:
    # Tg0 -11 C, Tg1 206 C, lam 0.435 (Karkanas and Partridge): 54.780 C at 0.5, 126.803 C at 0.8.
    resin = Resin(ResinSettings(glass_uncured_c=-11.0, glass_cured_c=206.0, glass_bend=0.435))
    assert resin.glass_transition_k(0.5) - 273.15 == pytest.approx(54.780487805)
    assert resin.glass_transition_k(0.8) - 273.15 == pytest.approx(126.80291970)


def test_neat_resin_without_losses_rises_147_4_kelvin() -> None:
    # 280 kJ/kg over 1.9 kJ/kg K.
    resin = Resin(ResinSettings(heat_kj_per_kg=280.0, glass_lead_k=60.0, glass_cured_c=60.0))
    cup = Cup(CupSettings(specific_heat_j_per_kgk=1900.0, loss_w_per_k=1e-9), resin, SHOP_K)
    cup.mixed = True
    cup.advance(6.0 * 3600.0, SHOP_K)
    assert cup.chemistry[2] == pytest.approx(1.0, abs=2e-3)
    assert cup.temp_k - SHOP_K == pytest.approx(147.36842 * cup.chemistry[2], rel=1e-3)


def test_left_over_resin_passes_150_degrees() -> None:
    cup = Cup(CupSettings(), Resin(ResinSettings()), SHOP_K)
    cup.mixed = True
    hottest_k = 0.0
    for _ in range(7200):
        cup.advance(1.0, SHOP_K)
        hottest_k = max(hottest_k, cup.temp_k)
    assert 150.0 < hottest_k - 273.15 < 215.0


def test_a_lamp_warms_a_lumped_body_as_the_closed_form_says() -> None:
    # rise = (q/U)(1 - exp(-U t/C)), q 100 W/m2, U 13 W/m2K, C 20 kJ/m2K, 1800 s: 5.30487 K.
    # Laminate and mould in perfect contact; the loss grows by 0.4 % per K, hence the allowance.
    settings = LaminateSettings(
        thickness_mm=10.0,
        density_kg_per_m3=1000.0,
        specific_heat_j_per_kgk=1000.0,
        contact_w_per_m2k=1e4,
        loss_top_w_per_m2k=13.0,
        loss_back_w_per_m2k=0.0,
        mould_heat_kj_per_m2k=10.0,
    )
    laminate = Laminate(settings, inert(), SHOP_K)
    laminate.lamp_w_per_m2 = 100.0
    laminate.advance(1800.0, SHOP_K)
    assert laminate.laminate_k - SHOP_K == pytest.approx(5.3048696826, rel=0.015)


def test_every_joule_of_the_laminate_is_accounted_for() -> None:
    laminate = Laminate(LaminateSettings(), Resin(ResinSettings()), SHOP_K)
    laminate.mixed = True
    laminate.advance(3.0 * 3600.0, SHOP_K)
    stored = laminate.heat_j_per_m2k * (laminate.laminate_k - SHOP_K)
    stored += laminate.mould_j_per_m2k * (laminate.mould_k - SHOP_K)
    made = laminate.reaction_j_per_m2 * laminate.chemistry[2]
    assert stored + laminate.lost_j_per_m2 == pytest.approx(made, rel=1e-6)


def test_a_cold_cure_stops_where_glass_overtakes_it_and_warmth_moves_that() -> None:
    ends = []
    for temp_k in (288.15, 303.15):
        resin = Resin(ResinSettings())
        state = (0.0, 1.0, 0.0)
        for _ in range(20000):
            state = (0.0, 1.0, state[2] + 10.0 * resin.rates(state, temp_k)[2])
        ends.append(state[2])
    assert 0.6 < ends[0] < ends[1] - 0.03 < 0.95


def test_more_initiator_shortens_the_clock() -> None:
    little, much = (
        Resin(ResinSettings(dose_percent=dose, clock_dose_exponent=0.9)) for dose in (1.0, 2.0)
    )
    ratio = much.rates(FRESH, SHOP_K)[0] / little.rates(FRESH, SHOP_K)[0]
    assert ratio == pytest.approx(2.0**0.9)


def test_unmixed_resin_does_not_age() -> None:
    laminate = Laminate(LaminateSettings(), Resin(ResinSettings()), SHOP_K)
    laminate.advance(36000.0, SHOP_K)
    assert laminate.chemistry == FRESH
    assert laminate.laminate_k == pytest.approx(SHOP_K)


def test_a_step_twice_as_long_gives_the_same_cure() -> None:
    ends = []
    for step_s in (0.5, 4.0):
        laminate = Laminate(LaminateSettings(), Resin(ResinSettings()), SHOP_K)
        laminate.mixed = True
        for _ in range(int(4800.0 / step_s)):
            laminate.advance(step_s, SHOP_K)
        ends.append((laminate.chemistry[2], laminate.laminate_k))
    assert ends[0] == pytest.approx(ends[1], rel=1e-5)


def test_loss_to_air_grows_with_the_difference() -> None:
    assert air_loss_w(5.0, 50.0) == pytest.approx(5.0 * 50.0 * 1.2)
    assert math.copysign(1.0, air_loss_w(5.0, -50.0)) == -1.0
