"""`bagvigil plan`: the shape of its answers, the sheet, what it asks for, and nonsense."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from firmware_host.config.load import load_job
from tests.commands.pours import fairing, hatch
from tests.commands.spoken import Say

EPOXY = """
[job]
part = "drone fairing"
work_time_min = 20.0
[resin]
family = "epoxy"
hardener_parts_per_100 = 30.0
[conditions]
shop_c = 20.0
resin_c = 20.0
form_c = 20.0
station_pressure_hpa = 1013.0
[pump]
ultimate_mbar = 20.0
[[plies]]
area_m2 = 0.5
areal_weight_g_per_m2 = 200.0
count = 2
[target]
resin_mass_fraction = 0.5
lap_fraction = 0.0
loss_fraction = 0.3
"""
SHAPE = {
    "schema", "glass_g", "resin_g", "initiator_percent", "initiator_g", "initiator_ml",
    "hardener_g", "drops", "window", "gates", "deepest_vacuum_kpa", "fit_to_mix", "reasons",
}  # fmt: skip


def write(here: Path, text: str) -> None:
    (here / "job.toml").write_text(text, encoding="utf-8")


def test_the_answer_has_the_fixed_shape(here: Path, say: Say) -> None:
    write(here, hatch())
    answer = json.loads(say("plan", "job.toml", "--json").out)
    assert set(answer) == SHAPE
    assert answer["schema"] == 1
    assert set(answer["drops"]) == {"count", "low", "high"}
    assert set(answer["window"]) == {"gel_min", "low_min", "high_min", "source", "jobs"}
    assert set(answer["gates"]) == {"bag_sealed_by_min", "last_smoothing_by_min"}
    assert all(set(reason) == {"name", "text"} for reason in answer["reasons"])


def test_an_epoxy_has_hardener_by_its_ratio_and_no_drops(here: Path, say: Say) -> None:
    """200 g of glass, 200 g of mix in the part, 260 g with losses: 200 and 60."""
    write(here, EPOXY)
    answer = json.loads(say("plan", "job.toml", "--json").out)
    assert (answer["resin_g"], answer["hardener_g"]) == pytest.approx((200.0, 60.0))
    assert (answer["initiator_percent"], answer["initiator_g"]) == (0.0, 0.0)
    assert answer["drops"] == {"count": None, "low": None, "high": None}
    assert answer["deepest_vacuum_kpa"] == pytest.approx(99.3)


def test_an_epoxy_off_its_sheets_ratio_is_refused(here: Path, say: Say) -> None:
    write(here, EPOXY + "[sheet]\nhardener_parts_per_100 = 27.0\n")
    spoken = say("plan", "job.toml", "--json")
    assert spoken.code == 1
    assert "ratio_off" in [one["name"] for one in json.loads(spoken.out)["reasons"]]


def test_a_file_without_cloth_or_dropper_is_planned_from_its_laminate(here: Path, say: Say) -> None:
    text = hatch().split("[[plies]]")[0] + "[laminate]\narea_m2 = 0.2\nthickness_mm = 2.0\n"
    write(here, text)
    answer = json.loads(say("plan", "job.toml", "--json").out)
    assert answer["glass_g"] == pytest.approx(0.2 * 2.0 * 1650.0 * 0.5)
    assert answer["drops"]["count"] is None
    assert answer["drops"]["high"] == pytest.approx(8.0 * answer["drops"]["low"], rel=0.01)
    assert "no plies are named" in say("plan", "job.toml").out


@pytest.mark.parametrize("text", [hatch(), hatch(air=(12.0, 12.0, 12.0)), EPOXY,
                                  fairing(temp=31.0, cup=9.0)])  # fmt: skip
def test_the_sheet_fits_eighty_columns_and_carries_the_cautions(
    here: Path, say: Say, text: str
) -> None:
    write(here, text)
    sheet = say("plan", "job.toml").out
    assert max(len(line) for line in sheet.splitlines()) <= 80
    assert sheet.isascii()
    words = " ".join(sheet.split())
    assert "eye protection" in words.casefold()
    assert "outdoors, thin, on a hard surface" in words
    assert "to a wet lay-up" in words
    assert ("NEVER let initiator and promoter" in words) is ("epoxy" not in text)


def test_two_kinds_of_ounce_are_shown_and_never_guessed(here: Path, say: Say) -> None:
    rule = "drops_per_ounce = 12.0\n"
    write(here, hatch() + rule)
    spoken = say("plan", "job.toml")
    assert spoken.code == 2
    assert 'add ounce = "fluid" or "weight"' in spoken.err
    for ounce, drops in (("fluid", 71), ("weight", 81)):
        write(here, hatch() + rule + f'ounce = "{ounce}"\n')
        sheet = " ".join(say("plan", "job.toml").out.split())
        assert f"12 drops per {ounce} ounce" in sheet
        assert f"= {drops} drops (common practice, no source)" in sheet


def test_a_rehearsed_dry_fit_is_believed_over_the_estimate(here: Path, say: Say) -> None:
    write(here, hatch().replace("[resin]", "rehearsed_min = 40.0\n[resin]", 1))
    spoken = say("plan", "job.toml")
    assert spoken.code == 1
    assert "the work took 40 min in the dry fit" in " ".join(spoken.out.split())


@pytest.mark.parametrize("name", ["shop_c", "resin_c", "form_c", "station_pressure_hpa"])
def test_without_a_terminal_a_missing_condition_is_named(here: Path, say: Say, name: str) -> None:
    lines = [line for line in hatch().splitlines() if not line.startswith(name)]
    write(here, "\n".join(lines))
    spoken = say("plan", "job.toml", "--json")
    assert (spoken.code, spoken.out) == (2, "")
    assert spoken.err.startswith(f"job.toml: [conditions] has no {name}.")
    assert spoken.err.count("\n") == 1


class Terminal(io.StringIO):
    """Somebody at the keyboard."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("typed", "code"), [("18,5\n", 0), ("warm\n", 2), ("900\n", 2), ("", 2)])
def test_on_a_terminal_a_missing_condition_is_asked_for(
    here: Path, say: Say, monkeypatch: pytest.MonkeyPatch, typed: str, code: int
) -> None:
    write(here, hatch().replace("shop_c = 19.0\n", ""))
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    spoken = say("plan", "job.toml")
    assert spoken.code == code
    assert spoken.err.startswith("shop_c, C of the air at the bench:\n")
    assert ("shop 18.5 C" in spoken.out) is (code == 0)


def test_an_override_on_the_command_line_stays_in_the_job_file(here: Path, say: Say) -> None:
    write(here, hatch(air=(14.0, 19.0, 18.0)))
    reason = 'the "last" pour before the trip'
    assert say("plan", "job.toml", "--override", "shop_cold", reason).code == 0
    (kept,) = load_job(here / "job.toml").overrides
    assert (kept.name, kept.reason) == ("shop_cold", reason)
    assert say("plan", "job.toml").code == 0
    again = say("plan", "job.toml", "--override", "shop_cold", reason)
    assert (again.code, again.err) == (
        2,
        "job.toml sets shop_cold aside already. Change it there.\n",
    )


@pytest.mark.parametrize(("name", "reason"), [("shop_cold", "short"), ("a b", "a long reason")])
def test_an_override_that_says_nothing_changes_nothing(
    here: Path, say: Say, name: str, reason: str
) -> None:
    write(here, hatch())
    assert say("plan", "job.toml", "--override", name, reason).code == 2
    assert (here / "job.toml").read_text("utf-8") == hatch()


NONSENSE = [
    ("areal_weight_g_per_m2 = 200.0", "areal_weight_g_per_m2 = -200.0", "must be above 0"),
    ("area_m2 = 0.19", "area_m2 = 0.0", "must be above 0"),
    ("count = 4", "count = 0", "must be at least 1"),
    ("loss_fraction = 0.15", "loss_fraction = -0.1", "must be at least 0"),
    ("lap_fraction = 0.10", "lap_fraction = 150.0", "at most 2"),
    ("resin_mass_fraction = 0.50", "resin_mass_fraction = 1.5", "below 1"),
    ("resin_mass_fraction = 0.50", "thickness_mm = 0.31", "no more than the glass alone, 0.31 mm"),
    ("resin_mass_fraction = 0.50", "fibre_volume_fraction = 1.0", "below 1"),
    ("initiator_percent = 1.5", "initiator_percent = 150.0", "at most 10"),
    ("initiator_percent = 1.5", "initiator_percent = -1.0", "at least 0"),
    ("initiator_percent = 1.5", "initiator_percent = nan", "not a number that can be meant"),
    ("weighed_g = 1.1", "weighed_g = 0.0", "must be above 0"),
    ("weighed_g = 1.1", "weighed_g = -1.1", "must be above 0"),
    ("drops_weighed = 20", "drops_weighed = 0", "must be at least 1"),
    ("drops_weighed = 20\n", "", "says nothing without drops_weighed"),
    ("weighed_g = 1.1\n", "", "says nothing without weighed_g"),
    ("weighed_g = 1.1\n", "weighed_g = 1.1\ndrops_per_ounce = 8\n", "says nothing without ounce"),
    ("weighed_g = 1.1\n", 'weighed_g = 1.1\nounce = "big"\n', "one of fluid, weight"),
    ("shop_c = 19.0", "shop_c = 190.0", "at most 60"),
    ("form_c = 18.0", "form_c = -60.0", "at least -30"),
    ("station_pressure_hpa = 1009.0", "station_pressure_hpa = 0.0", "at least 300"),
    ("work_time_min = 14.0", "work_time_min = 0.0", "above 0"),
    ("work_time_min = 14.0", 'work_time_min = "soon"', "a number"),
    ("gel_min = 35.0", "gel_min = 0.0", "above 0"),
    ("gel_at_c = 20.0\n", "", "says nothing without gel_at_c"),
]
LOTS = [
    ("made = 2026-05-01\nexpires = 2026-04-30", "nothing is expired before it is made"),
    ("made = 2026-05-01\nopened = 2026-04-30", "nothing is opened before it is made"),
    ('expires = "tomorrow"', "a date like 2026-03-01"),
]


@pytest.mark.parametrize(("right", "wrong", "said"), NONSENSE)
def test_nonsense_gets_one_clear_line(
    here: Path, say: Say, right: str, wrong: str, said: str
) -> None:
    text = hatch()
    assert right in text
    write(here, text.replace(right, wrong, 1))
    spoken = say("plan", "job.toml", "--json")
    assert (spoken.code, spoken.out) == (2, "")
    assert said in spoken.err
    assert spoken.err.count("\n") == 1


@pytest.mark.parametrize(("dates", "said"), LOTS)
def test_a_lots_dates_must_follow_one_another(here: Path, say: Say, dates: str, said: str) -> None:
    write(here, hatch() + f'[[lots]]\nwhat = "resin"\nlot = "A"\n{dates}\n')
    spoken = say("plan", "job.toml")
    assert (spoken.code, spoken.out) == (2, "")
    assert said in spoken.err
    assert spoken.err.count("\n") == 1


def test_a_part_lighter_than_its_cloth_is_refused(here: Path, say: Say) -> None:
    write(here, hatch() + "[weighed]\ndry_g = 167.0\npart_g = 160.0\n")
    spoken = say("plan", "job.toml")
    assert spoken.code == 2
    assert "the part holds that cloth" in spoken.err


@pytest.mark.parametrize("words", [("--drops", "0"), ("--drops", "-5"), ("--drops", "many")])
def test_drops_that_cannot_be_counted_are_refused(
    here: Path, say: Say, words: tuple[str, str]
) -> None:
    write(here, hatch())
    assert say("plan", "job.toml", *words).code == 2


def test_drops_of_an_unweighed_dropper_are_no_dose(here: Path, say: Say) -> None:
    text = hatch().replace("drops_weighed = 20\nweighed_g = 1.1\n", "drops = 52\n")
    write(here, text)
    spoken = say("plan", "job.toml", "--json")
    assert spoken.code == 1
    (reason,) = (one for one in json.loads(spoken.out)["reasons"] if one["name"][0] == "d")
    assert reason["name"] == "drops_unweighed"
    assert "are 0.3 to 2.2 %" in reason["text"]


@pytest.mark.parametrize("aim", ["thickness_mm = 0.9816273", "fibre_volume_fraction = 0.32085561"])
def test_a_target_may_be_a_thickness_or_a_fibre_volume(here: Path, say: Say, aim: str) -> None:
    """0.8 kg/m2 of cloth at half resin: 0.98163 mm and 0.32086, by hand."""
    write(here, hatch().replace("resin_mass_fraction = 0.50", aim))
    answer = json.loads(say("plan", "job.toml", "--json").out)
    assert answer["resin_g"] == pytest.approx(192.28, abs=0.01)
