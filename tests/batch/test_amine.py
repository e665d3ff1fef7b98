"""An epoxy's cup against an outside integrator, and where the plan says that the cure ends."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from firmware_host.batch.amine import end_words
from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import Plan, plan_of
from firmware_host.batch.sheet import sheet_of
from firmware_host.config.load import parse_job
from firmware_host.history.law import law_of

JOB = """
[job]
part = "drone fairing"
work_time_min = {work}
[resin]
family = "epoxy"
hardener_parts_per_100 = 30.0
[laminate]
thickness_mm = 2.0
area_m2 = {area}
resin_mass_fraction = 0.45
{more}
"""
MEASURED = Measured(shop_c=21.0, resin_c=21.0, form_c=21.0, station_pressure_hpa=1009.0)


def planned(*, area: float = 0.1, work: float = 20.0, more: str = "") -> Plan:
    job = parse_job(JOB.format(area=area, work=work, more=more), "job.toml")
    return plan_of(job, MEASURED, (), date(2026, 3, 1))


def names(plan: Plan) -> set[str]:
    return {reason.name for reason in plan.reasons}


@pytest.mark.parametrize("area", [0.02, 0.1, 0.4])
def test_a_cup_gels_when_an_outside_integrator_says(area: float) -> None:
    """scipy's LSODA on the cup's balance: 1.8 kJ/kgK, 0.20 W/K at 180 g, more with its surface."""
    plan = planned(area=area)
    pot, resin = plan.pot, plan.job.resin
    assert pot is not None
    law = law_of(resin)
    stretch = plan.window.gel_min / law.gel_min(294.15, 0.0)
    kg = pot.mixed_g / 1000.0
    loss = 0.20 * (kg / 0.180) ** (2.0 / 3.0)

    def change(_: float, state: np.ndarray) -> list[float]:
        alpha, temp_k = (float(v) for v in state)
        speed = law.speed_per_s(alpha, min(temp_k, 473.15), 0.0) / stretch
        heat = kg * resin.heat_of_cure_kj_per_kg * 1000.0 * speed
        return [speed, (heat - loss * (temp_k - 294.15)) / (kg * 1800.0)]

    found = solve_ivp(change, (0.0, 60000.0), [0.0, 294.15], method="LSODA", rtol=1e-8, max_step=30)
    gel_s = float(np.interp(resin.gel_conversion, found.y[0], found.t))
    assert 60.0 * pot.gel_min == pytest.approx(gel_s, rel=0.03)


def test_mass_shortens_a_pot_life_and_a_thin_part_keeps_the_windows_time() -> None:
    few, many = planned(area=0.02).pot, planned(area=0.4).pot
    assert few is not None
    assert many is not None
    assert many.gel_min < few.gel_min < planned(area=0.02).window.gel_min
    assert many.low_min < many.gel_min
    assert many.peak_c >= few.peak_c > 21.0


def test_a_cup_that_gels_before_the_work_is_done_is_named_and_not_forbidden() -> None:
    slow, quick = planned(work=70.0), planned(work=10.0)
    assert "pot_life_short" in names(slow)
    assert "pot_life_short" not in names(quick)
    assert slow.fit_to_mix
    assert "cup_may_run_hot" in names(planned(area=0.4))


def test_a_resin_with_initiator_has_no_pot_life_of_its_own() -> None:
    job = parse_job('[job]\npart = "hatch"\n[resin]\nfamily = "polyester"\n', "job.toml")
    plan = plan_of(job, MEASURED, (), date(2026, 3, 1))
    assert plan.pot is None
    assert "POT LIFE" not in sheet_of(plan)


def test_the_sheet_says_where_the_room_leaves_it_and_what_brings_the_rest() -> None:
    bare = planned()
    assert "[post_cure] asks for more" in end_words(bare.job, 21.0)
    wanting = planned(more="[post_cure]\nconversion = 0.95\n")
    words = end_words(wanting.job, 21.0)
    assert words.startswith("this room leaves it at about 77%, glass at ")
    assert words.endswith("h at 60 degC")
    assert "comes by itself" in end_words(planned(more="[post_cure]\nconversion = 0.7\n").job, 21.0)
    tough = planned(more="[post_cure]\nglass_transition_c = 80.0\nhighest_c = 50.0\n")
    assert end_words(tough.job, 21.0).endswith("no step that job and form can bear brings it")
    sheet = sheet_of(wanting)
    assert "POT LIFE" in sheet
    assert "END" in sheet
