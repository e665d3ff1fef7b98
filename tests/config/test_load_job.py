from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.config.load import load_job, parse_job
from firmware_host.config.plan_tables import Conditions, Dropper, Lot, Person, Ply, Target
from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import (
    Bag,
    Cup,
    Family,
    JobDescription,
    JobTable,
    Laminate,
    Limits,
    Resin,
)
from firmware_host.errors import InputError

SMALLEST = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n'

FULL = """
[job]
part = "kayak hatch cover"
work_time_min = 25.0            # honest minutes
initiator_percent = 1.50
[resin]
family = "polyester"
hardener_parts_per_100 = 30.0
initiator_reference_percent = 1.5
induction_min_at_25c = 30.0
induction_activation_kj_per_mol = 51.0
induction_initiator_exponent = 0.9
rate_at_25c_per_s = 1.1e-3
rate_activation_kj_per_mol = 45.0
rate_initiator_exponent = 0.5
seed_fraction = 0.02
order_m = 0.9
order_n = 1.3
gel_conversion = 0.06
heat_of_cure_kj_per_kg = 350.0
conversion_limit_at_20c = 0.72
conversion_limit_per_k = 0.003
[laminate]
thickness_mm = 4.0
area_m2 = 0.6
resin_mass_fraction = 0.58
density_kg_per_m3 = 1650.0
specific_heat_j_per_kgk = 1150.0
loss_top_w_per_m2k = 9.0
contact_w_per_m2k = 110.0
loss_back_w_per_m2k = 6.0
mould_heat_kj_per_m2k = 16.0
[cup]
resin_g = 180.0
specific_heat_j_per_kgk = 1800.0
loss_w_per_k = 0.20
[bag]
free_volume_l = 3.0
drop_limit_pa_per_s = 3.3
pressure_limit_mbar = 150.0
pump_cycle_mbar = [40.0, 80.0]
[limits]
latest_gel_min = 120.0
highest_temperature_c = 90.0
[conditions]
shop_c = 19.0
resin_c = 19
form_c = 18.0
station_pressure_hpa = 1009.0
[[plies]]
area_m2 = 0.19
areal_weight_g_per_m2 = 200.0
count = 4
[target]
resin_mass_fraction = 0.50
lap_fraction = 0.10
loss_fraction = 0.15
[dropper]
name = "brown bottle"
drops_weighed = 20
weighed_g = 1.10
[[lots]]
what = "resin"
lot = "B-77"
expires = 2026-09-30
[[people]]
who = "M."
"""


def problems_of(text: str) -> tuple[str, ...]:
    with pytest.raises(InputError) as caught:
        parse_job(text, "job.toml")
    return caught.value.problems


def smallest_with(text: str) -> str:
    return SMALLEST + text


def test_every_table_of_a_full_file_arrives_as_written() -> None:
    assert parse_job(FULL, "job.toml") == JobDescription(
        job=JobTable(part="kayak hatch cover", work_time_min=25.0, initiator_percent=1.5),
        resin=Resin(
            family=Family.POLYESTER,
            hardener_parts_per_100=30.0,
            initiator_reference_percent=1.5,
            induction_min_at_25c=30.0,
            induction_activation_kj_per_mol=51.0,
            induction_initiator_exponent=0.9,
            rate_at_25c_per_s=1.1e-3,
            rate_activation_kj_per_mol=45.0,
            rate_initiator_exponent=0.5,
            seed_fraction=0.02,
            order_m=0.9,
            order_n=1.3,
            gel_conversion=0.06,
            heat_of_cure_kj_per_kg=350.0,
            conversion_limit_at_20c=0.72,
            conversion_limit_per_k=0.003,
            ln_rate_sd=0.35,
        ),
        laminate=Laminate(thickness_mm=4.0, area_m2=0.6, resin_mass_fraction=0.58),
        cup=Cup(resin_g=180.0),
        bag=Bag(
            free_volume_l=3.0,
            drop_limit_pa_per_s=3.3,
            drop_rule="3.3 Pa/s",
            pressure_limit_mbar=150.0,
            pump_cycle_mbar=(40.0, 80.0),
        ),
        limits=Limits(latest_gel_min=120.0, highest_temperature_c=90.0),
        conditions=Conditions(shop_c=19.0, resin_c=19.0, form_c=18.0, station_pressure_hpa=1009.0),
        plies=(Ply(area_m2=0.19, areal_weight_g_per_m2=200.0, count=4),),
        target=Target(resin_mass_fraction=0.5, lap_fraction=0.1, loss_fraction=0.15),
        dropper=Dropper(name="brown bottle", drops_weighed=20, weighed_g=1.1),
        lots=(Lot(what="resin", lot="B-77", expires=date(2026, 9, 30)),),
        people=(Person(who="M."),),
        assumed=("resin.ln_rate_sd",),
    )


def test_a_part_and_a_family_are_enough_and_the_rest_is_listed_as_assumed() -> None:
    job = parse_job(SMALLEST, "job.toml")
    assert job.resin == PRESETS["polyester"]
    assert job.job.initiator_percent == PRESETS["polyester"].initiator_reference_percent
    assert job.cup is None
    assert {
        "job.initiator_percent",
        "job.work_time_min",
        "resin.rate_at_25c_per_s",
        "bag.drop_limit_pa_per_s",
        "bag.free_volume_l",
        "laminate.thickness_mm",
        "limits.latest_gel_min",
    } <= set(job.assumed)
    assert not {one for one in job.assumed if one.startswith(("cup.", "resin.family"))}


def test_only_what_the_file_left_out_is_assumed() -> None:
    text = smallest_with("[laminate]\nthickness_mm = 2.0\n[cup]\nresin_g = 90.0\n")
    assumed = parse_job(text, "job.toml").assumed
    assert "laminate.thickness_mm" not in assumed
    assert "laminate.area_m2" in assumed
    assert [one for one in assumed if one.startswith("cup.")] == [
        "cup.loss_w_per_k",
        "cup.specific_heat_j_per_kgk",
    ]


@pytest.mark.parametrize(
    ("resin", "spread"),
    [
        ('family = "polyester"', 0.40),
        ('preset = "vinylester"', 0.45),
        ('family = "epoxy"', 0.35),
        ('family = "polyester"\nrate_at_25c_per_s = 2e-3', 0.40),
        ('family = "polyester"\nrate_at_25c_per_s = 2e-3\ninduction_min_at_25c = 9.0', 0.35),
        ('family = "polyester"\nln_rate_sd = 0.2', 0.2),
        ('family = "epoxy"\nrate_at_25c_per_s = 2e-4', 0.35),
    ],
)
def test_the_spread_is_the_presets_own_until_the_file_states_the_kinetics(
    resin: str, spread: float
) -> None:
    job = parse_job(f'[job]\npart = "x"\n[resin]\n{resin}\n', "job.toml")
    assert job.resin.ln_rate_sd == spread


@pytest.mark.parametrize(
    "resin",
    [
        'family = "epoxy"\ninduction_min_at_25c = 36.0\ninitiator_reference_percent = 1.5',
        'family = "polyester"\ninitiator_reference_percent = 0.0',
    ],
)
def test_without_an_initiator_every_initiator_and_induction_term_is_0(resin: str) -> None:
    job = parse_job(f'[job]\npart = "x"\n[resin]\n{resin}\n', "job.toml")
    assert not job.resin.has_initiator
    assert job.resin.initiator_reference_percent == 0.0
    assert job.resin.induction_min_at_25c == 0.0
    assert job.resin.induction_activation_kj_per_mol == 0.0
    assert job.resin.induction_initiator_exponent == 0.0
    assert job.resin.rate_initiator_exponent == 0.0
    assert "job.initiator_percent" not in job.assumed


def test_values_override_the_preset_key_by_key() -> None:
    text = '[job]\npart = "x"\n[resin]\npreset = "vinylester"\nheat_of_cure_kj_per_kg = 410\n'
    resin = parse_job(text, "job.toml").resin
    assert resin.heat_of_cure_kj_per_kg == 410.0
    assert resin.order_n == PRESETS["vinylester"].order_n


def test_a_drop_rule_becomes_the_limit_and_keeps_its_words() -> None:
    job = parse_job(smallest_with('[bag]\ndrop_rule = "10 mbar in 10 min"\n'), "job.toml")
    assert job.bag.drop_limit_pa_per_s == pytest.approx(1000.0 / 600.0)
    assert job.bag.drop_rule == "10 mbar in 10 min"
    assert "bag.drop_limit_pa_per_s" not in job.assumed


@pytest.mark.parametrize(("limit", "agrees"), [("11.35", True), ("11.45", False)])
def test_a_rule_and_a_limit_must_agree_within_a_hundredth(limit: str, agrees: bool) -> None:  # noqa: FBT001 - a table column
    text = smallest_with(f'[bag]\ndrop_rule = "1 inHg in 5 min"\ndrop_limit_pa_per_s = {limit}\n')
    if agrees:
        assert parse_job(text, "job.toml").bag.drop_limit_pa_per_s == float(limit)
    else:
        assert problems_of(text) == (
            'job.toml line 6: [bag] drop_rule = "1 inHg in 5 min" is 11.3 Pa/s, but '
            "drop_limit_pa_per_s says 11.45. Keep one of the two.",
        )


def test_a_value_outside_its_bounds_names_line_key_value_limit_and_next_step() -> None:
    assert problems_of(smallest_with("[bag]\n\ndrop_limit_pa_per_s = -3.0\n")) == (
        "job.toml line 7: [bag] drop_limit_pa_per_s = -3.0 must be above 0 and at most 10000. "
        "Give another value, or take the line out to use 11.28796.",
    )


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("free_volume_litre = 3.0", "has no key free_volume_litre. Did you mean free_volume_l?"),
        ("resin_g = 3.0", "has no key resin_g. It belongs in [cup]."),
        ("xyz = 3.0", "has no key xyz. Known here: free_volume_l, drop_limit_pa_per_s, drop_rule,"),
        ('pressure_limit_mbar = "150"', "must be a number above 0 and at most 1100."),
        ("pressure_limit_mbar = true", "= true must be a number above 0"),
        ("pressure_limit_mbar = nan", "= nan is not a number that can be meant"),
        ("free_volume_l = inf", "= inf is not a number that can be meant"),
        ("free_volume_l = 1" + "0" * 400, "= a huge whole number must be above 0"),
        ("pump_cycle_mbar = [40.0]", "must be 2 numbers in brackets, each above 0."),
        ("pump_cycle_mbar = [40.0, inf]", "[40.0, inf] is not a number that can be meant"),
        ("pump_cycle_mbar = [80.0, 40.0]", "must be the lower pressure first"),
        ("pump_cycle_mbar = [80.0, 80.0]", "must be the lower pressure first"),
        ("pump_cycle_mbar = [450.0, 500.0]", "pressure_limit_mbar = 500 must be above that"),
        ('drop_rule = "1,5 inHg in 5 min"', 'must read like "1 inHg in 5 min"'),
        ('drop_rule = "1 inhg in 5 min"', 'has the unit "inhg"; use one of Pa, hPa'),
        ('drop_rule = "a\\u001b[2J"', "holds a character that cannot be shown"),
    ],
)
def test_a_wrong_line_in_the_bag_table_is_named(line: str, message: str) -> None:
    (problem,) = problems_of(smallest_with(f"[bag]\n{line}\n"))
    assert problem.startswith("job.toml line 6: [bag] ")
    assert message in problem


def test_a_pump_that_cycles_just_below_the_limit_is_accepted() -> None:
    text = smallest_with("[bag]\npump_cycle_mbar = [450.0, 499.9]\n")
    assert parse_job(text, "job.toml").bag.pump_cycle_mbar == (450.0, 499.9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "there is no table [job]. Write [job] and part"),
        ("", 'there is no table [resin]. Write [resin] and family = one of "polyester"'),
        ('part = "x"\n', "line 1: there is no table [part]. It belongs in [job]."),
        ("[jobs]\n", "line 1: there is no table [jobs]. Did you mean job?"),
        ("job = 3\n", "line 1: job must be a table: write [job] on a line of its own"),
        ("[[bag]]\n", "line 1: bag must be a table: write [bag]"),
        ("[plies]\n", "line 1: plies must be written [[plies]]"),
        ("[job]\n[resin]\n", "line 1: [job] has no part. Add a line part = ... (what you are"),
        ("[resin]\n", "line 1: [resin] has neither family nor preset."),
        ('[resin]\nfamily = "polyestr"\n', "polyester, vinylester, epoxy. Did you mean polyester?"),
        ('[resin]\npreset = "poly"\n', "is not in the library, which holds polyester, vinylester"),
        ("[resin]\npreset = [1]\n", "[resin] preset = [1] is not in the library"),
        (
            '[resin]\npreset = "epoxy"\nfamily = "polyester"\n',
            '[resin] family = "polyester" is not the family of the preset "epoxy".',
        ),
        (
            '[resin]\nfamily = "epoxy"\ngel_conversion = 0.76\n',
            "gel_conversion = 0.76 must be below conversion_limit_at_20c = 0.76",
        ),
        ("[sheet]\ngel_min = 30.0\n", "gel_min = 30.0 says nothing without gel_at_c"),
        (
            "[sheet]\nlowest_percent = 2.0\nhighest_percent = 1.0\n",
            "lowest_percent = 2.0 is above highest_percent = 1.0.",
        ),
        ("[[plies]]\narea_m2 = 1.0\n[[plies]]\ncount = 0\n", "[[plies]] number 2: count = 0 must"),
        ("[[lots]]\nexpires = 2026-09-30T00:00:00\n", "must be a date like 2026-03-01."),
    ],
)
def test_a_wrong_table_is_named(text: str, message: str) -> None:
    assert message in "\n".join(problems_of(text))


def test_no_initiator_in_a_resin_that_needs_it_says_what_to_do() -> None:
    text = '[job]\npart = "x"\ninitiator_percent = 0.0\n[resin]\nfamily = "vinylester"\n'
    assert problems_of(text) == (
        "job.toml line 3: [job] initiator_percent = 0.0 but vinylester does not cure without "
        "initiator. Write what was weighed in, or take the line out to assume the 1.25 it is "
        "rated at.",
    )


def test_initiator_in_a_two_part_epoxy_is_refused() -> None:
    text = '[job]\npart = "x"\ninitiator_percent = 1.5\n[resin]\nfamily = "epoxy"\n'
    assert problems_of(text) == (
        "job.toml line 3: [job] initiator_percent = 1.5 but a two-part epoxy takes no initiator. "
        "Take the line out, or correct the family.",
    )


def test_a_high_dose_is_for_the_plan_to_judge() -> None:
    text = '[job]\npart = "x"\ninitiator_percent = 4.0\n[resin]\nfamily = "polyester"\n'
    assert parse_job(text, "job.toml").job.initiator_percent == 4.0


def test_all_problems_come_at_once_in_the_order_of_the_file() -> None:
    text = (
        '[bag]\nfree_volume_l = 0\n[resin]\nfamily = "wood"\n[job]\nwork_time_min = "x"\n[what]\n'
    )
    lines = [problem.split(":")[0] for problem in problems_of(text)]
    assert lines == [f"job.toml line {number}" for number in (2, 4, 5, 6, 7)]


def test_a_flood_of_problems_is_counted() -> None:
    problems = problems_of(smallest_with("[bag]\n" + "".join(f"k{n} = 1\n" for n in range(50))))
    assert len(problems) == 41
    assert problems[-1] == "job.toml: and 10 more problems."


def test_a_byte_order_mark_and_windows_line_ends_are_accepted(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert load_job(path) == parse_job(FULL, "job.toml")


@given(st.text())
def test_any_text_is_a_job_or_a_list_of_problems(text: str) -> None:
    try:
        parse_job(text, "job.toml")
    except InputError as error:
        assert error.problems


KEYS = st.sampled_from(["family", "preset", "part", "free_volume_l", "drop_rule", "count", "x y"])
SCALARS = st.one_of(
    st.integers(),
    st.floats().map(str),
    st.booleans().map(lambda yes: "true" if yes else "false"),
    st.sampled_from(['"polyester"', '"1 inHg in 5 min"', "[1.0, 2.0]", "{ a = 1 }", "2026-01-01"]),
)
LINES = st.one_of(
    st.sampled_from(["[job]", "[resin]", "[bag]", "[[plies]]", "[plies]", "[cup]", "[[resin]]"]),
    st.tuples(KEYS, SCALARS).map(lambda pair: f"{pair[0]} = {pair[1]}"),
)


@given(st.lists(LINES, max_size=12))
def test_any_file_of_known_words_is_a_job_or_a_list_of_problems(lines: list[str]) -> None:
    try:
        parse_job("\n".join(lines), "job.toml")
    except InputError as error:
        assert all(problem.startswith("job.toml") for problem in error.problems)
