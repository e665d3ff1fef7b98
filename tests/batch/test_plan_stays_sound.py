"""Whatever a job file may hold: every number of the answer is finite and the sheet fits."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from firmware_host.batch.answer import answer_of
from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import plan_of
from firmware_host.batch.sheet import sheet_of
from firmware_host.config.load import parse_job
from firmware_host.config.plan_tables import CupTest, Dropper, Form, Ply, Sheet, Target
from firmware_host.config.schema import JobDescription
from firmware_host.history.outcomes import Kind, Outcome
from tests.commands.pours import hatch

TODAY = date(2026, 3, 20)
NOW = parse_job(hatch(), "job.toml")
COLD, HOT = -30.0, 60.0


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.sampled_from([low, high]) | st.floats(low, high)


@st.composite
def jobs(draw: st.DrawFn) -> JobDescription:
    resin = replace(
        NOW.resin,
        induction_min_at_25c=draw(floats(0.0, 1e4)),
        induction_activation_kj_per_mol=draw(floats(0.0, 300.0)),
        induction_initiator_exponent=draw(floats(0.0, 5.0)),
        rate_at_25c_per_s=draw(floats(1e-12, 10.0)),
        rate_activation_kj_per_mol=draw(floats(0.0, 300.0)),
        seed_fraction=draw(floats(1e-9, 0.49)),
        gel_conversion=draw(floats(1e-6, 0.69)),
        ln_rate_sd=draw(floats(1e-3, 3.0)),
    )
    cup = CupTest(gel_min=draw(floats(1e-3, 1e4)), at_c=draw(floats(COLD, HOT)))
    ply = Ply(
        area_m2=draw(floats(1e-4, 1000.0)), areal_weight_g_per_m2=draw(floats(0.1, 5000.0)),
        count=draw(st.integers(1, 1000)),
    )  # fmt: skip
    weighed = draw(st.none() | floats(1e-3, 1000.0))
    return replace(
        NOW,
        job=replace(NOW.job, initiator_percent=draw(floats(1e-6, 10.0)),
                    work_time_min=draw(floats(1e-3, 600.0))),
        resin=resin,
        plies=draw(st.sampled_from([(), (ply,)])),
        target=Target(resin_mass_fraction=draw(floats(1e-3, 0.999))),
        dropper=Dropper(drops_weighed=None if weighed is None else 20, weighed_g=weighed),
        sheet=draw(st.none() | st.just(Sheet(gel_min=1.0, gel_at_c=HOT, gel_at_percent=10.0))),
        form=draw(st.none() | st.just(Form(shell_to_cup_ratio=5.0, deepest_vacuum_kpa=1.0))),
        cup_tests=draw(st.sampled_from([(), (cup,)])),
    )  # fmt: skip


@st.composite
def pasts(draw: st.DrawFn) -> list[Outcome]:
    return [
        Outcome(
            job=f"job {number}", on=draw(st.none() | st.dates(date(2000, 1, 1), TODAY)),
            kind=draw(st.sampled_from(list(Kind))), resin="polyester",
            lot=draw(st.sampled_from(["", "A", "B"])), dose_percent=draw(floats(1e-6, 10.0)),
            temp_k=draw(floats(243.15, 333.15)),
            gel_min=draw(st.none() | floats(1e-3, 1e4)), not_by_min=draw(floats(1e-3, 1e4)),
        )
        for number in range(draw(st.integers(0, 4)))
    ]  # fmt: skip


def numbers_of(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for one in value.values() for number in numbers_of(one)]
    if isinstance(value, list):
        return [number for one in value for number in numbers_of(one)]
    return [value] if isinstance(value, int | float) else []


@settings(max_examples=50, deadline=None, phases=[Phase.explicit, Phase.generate])
@given(
    job=jobs(), past=pasts(), shop_c=floats(COLD, HOT), resin_c=floats(COLD, HOT),
    form_c=floats(COLD, HOT),
)  # fmt: skip
def test_every_answer_is_finite_and_every_sheet_fits(
    job: JobDescription, past: list[Outcome], shop_c: float, resin_c: float, form_c: float
) -> None:
    measured = Measured(
        shop_c=shop_c, resin_c=resin_c, form_c=form_c, station_pressure_hpa=1009.0
    )  # fmt: skip
    plan = plan_of(job, measured, past, TODAY)
    answer = answer_of(plan)
    assert all(math.isfinite(number) for number in numbers_of(answer))
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer
    window = answer["window"]
    assert 0.0 <= window["low_min"] <= window["gel_min"] <= window["high_min"]
    assert max(map(len, sheet_of(plan).splitlines())) <= 80
