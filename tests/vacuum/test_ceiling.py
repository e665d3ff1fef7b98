"""How deep is wise: each bound with its edge, against boiling points of handbooks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.config.load import parse_job
from firmware_host.vacuum.ceiling import (
    POROSITY_MARGIN,
    Bench,
    Liquids,
    Why,
    deepest_wise,
    liquids_of,
    water_bound_pa,
)

SEA_PA = 101_325.0
PA_PER_INHG = 3386.389
DRY = Liquids(
    has_styrene=True,
    may_be_damp=False,
    may_hold_solvent=False,
    laminate_k=298.15,
    form_k=None,
)
BENCH = Bench(room_pa=SEA_PA)


@pytest.mark.parametrize(
    ("inhg", "boils_c"), [(20.0, 108.04), (25.0, 88.19), (28.0, 65.18), (28.5, 58.53)]
)
def test_styrene_boils_in_the_exotherm_not_in_the_cold(inhg: float, boils_c: float) -> None:
    # Boiling points under so many inHg at sea level: VDI equation, CoolProp.
    left_pa = SEA_PA - inhg * PA_PER_INHG
    hot = deepest_wise(replace(DRY, laminate_k=273.15 + boils_c), BENCH)
    assert hot.why is Why.STYRENE
    assert hot.deepest_pa / POROSITY_MARGIN == pytest.approx(left_pa, rel=0.03)
    assert deepest_wise(DRY, BENCH).deepest_pa < left_pa


def test_damp_counts_only_where_it_is_said_but_its_bound_is_always_known() -> None:
    damp = replace(DRY, may_be_damp=True, form_k=273.15 + 56.17)
    # Water boils at 56.17 C under 25 inHg (CoolProp): plaster that is warmer than the laminate.
    found = deepest_wise(damp, BENCH)
    assert found.why is Why.WATER
    assert found.deepest_pa / 1.5 == pytest.approx(SEA_PA - 25.0 * PA_PER_INHG, rel=5e-3)
    assert deepest_wise(replace(damp, may_be_damp=False), BENCH).why is Why.STYRENE
    assert water_bound_pa(replace(damp, may_be_damp=False)) == found.deepest_pa
    assert water_bound_pa(replace(DRY, laminate_k=None)) is None


def test_brush_acetone_forbids_a_working_vacuum() -> None:
    found = deepest_wise(replace(DRY, laminate_k=293.15, may_hold_solvent=True), BENCH)
    assert found.why is Why.SOLVENT
    assert found.deepest_pa / 1.5 == pytest.approx(24_661.6, rel=5e-3)  # CoolProp, 20 C


def test_a_form_that_bears_half_an_atmosphere_rules_a_cold_bag() -> None:
    found = deepest_wise(DRY, replace(BENCH, form_bears_pa=52_000.0))
    assert (found.deepest_pa, found.why) == (SEA_PA - 52_000.0, Why.FORM)
    # Nobody knows the room: what the form bears below it cannot be said.
    assert deepest_wise(DRY, Bench(room_pa=None, form_bears_pa=52_000.0)).why is Why.STYRENE


def test_a_gauge_that_is_blind_below_15_kpa_rules_there() -> None:
    found = deepest_wise(DRY, replace(BENCH, gauge_lowest_pa=15_000.0))
    assert (found.deepest_pa, found.why) == (15_000.0, Why.GAUGE)


def test_a_pump_that_gets_no_deeper_rules_and_a_leak_lifts_it() -> None:
    # 500 Pa and a leak of 1 inHg in 5 min at 3 L and 0.5 m3/h: 500 + 243.8 Pa, by hand.
    epoxy = replace(DRY, has_styrene=False)
    bench = replace(BENCH, pump_pa=500.0, leak_pa_per_s=3386.389 / 300.0, tau_s=21.6)
    found = deepest_wise(epoxy, bench)
    assert found.why is Why.PUMP
    assert found.deepest_pa == found.possible_pa == pytest.approx(743.82, abs=0.01)
    assert deepest_wise(epoxy, replace(bench, tau_s=None)).possible_pa == 500.0


def test_a_bench_that_knows_nothing_claims_nothing() -> None:
    unknown = replace(DRY, laminate_k=None)
    found = deepest_wise(unknown, Bench(room_pa=None))
    assert (found.deepest_pa, found.why) == (0.0, Why.PUMP)


@pytest.mark.parametrize(
    ("family", "form", "has"),
    [
        ("polyester", "", (True, False, False)),
        ("epoxy", "", (False, False, False)),
        ("vinylester", "[form]\ndamp = true\n", (True, True, False)),
        ("polyester", "[form]\nwet_acetone = true\n", (True, False, True)),
    ],
)
def test_the_job_says_what_may_boil(family: str, form: str, has: tuple[bool, ...]) -> None:
    text = f'[job]\npart = "drone fairing"\n[resin]\nfamily = "{family}"\n{form}'
    found = liquids_of(parse_job(text, "job.toml"), laminate_k=300.0, form_k=None)
    assert (found.has_styrene, found.may_be_damp, found.may_hold_solvent) == has
