from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.config.convert import field_names
from firmware_host.config.load import parse_bench, parse_job
from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import Bench, Family, JobDescription
from firmware_host.config.tables import tables_of
from firmware_host.config.template import bench_template, job_template
from firmware_host.config.words import BENCH_WORDS, JOB_WORDS

COMMENTED_LINE = re.compile(r"^# (?=\[|[a-z_0-9]+ = )", re.MULTILINE)


def all_live(text: str) -> str:
    return COMMENTED_LINE.sub("", text)


@pytest.mark.parametrize("family", list(Family))
def test_a_written_job_loads_as_the_familys_preset(family: Family) -> None:
    job = parse_job(job_template(part="drone fairing", family=family), "job.toml")
    assert job.job.part == "drone fairing"
    assert job.resin == PRESETS[family]
    assert job.cup is None


@pytest.mark.parametrize("family", list(Family))
def test_a_written_job_loads_with_every_comment_taken_live(family: Family) -> None:
    text = all_live(job_template(part="drone fairing", family=family))
    job = parse_job(text, "job.toml")
    assert job.assumed == ()
    assert job.cup is not None
    assert len(job.plies) == 1


def test_what_the_person_said_is_a_line_and_not_assumed() -> None:
    text = job_template(
        part="hatch cover",
        family="polyester",
        given={"laminate": {"thickness_mm": 4.0}, "bag": {"drop_rule": "10 mbar in 10 min"}},
    )
    job = parse_job(text, "job.toml")
    assert job.laminate.thickness_mm == 4.0
    assert job.bag.drop_rule == "10 mbar in 10 min"
    assert "laminate.thickness_mm" not in job.assumed


@given(st.text(min_size=1, max_size=60).filter(str.isprintable))
def test_any_printable_part_survives_the_file(part: str) -> None:
    assert parse_job(job_template(part=part, family="epoxy"), "job.toml").job.part == part


@pytest.mark.parametrize(
    "given_keys", [{"laminat": {}}, {"bag": {"volume": 3.0}}, {"plies": {"area_m2": 1.0}}]
)
def test_a_key_without_a_place_is_refused(given_keys: dict[str, dict[str, float]]) -> None:
    with pytest.raises(ValueError, match="has no place in a template"):
        job_template(part="x", family="epoxy", given=given_keys)


def test_the_cautions_stand_where_the_dose_is_typed() -> None:
    peroxide = job_template(part="x", family="vinylester").split("[job]")[0]
    assert "data sheet wins" in peroxide
    assert "NEVER mix initiator directly with promoter" in peroxide
    epoxy = job_template(part="x", family="epoxy").split("[job]")[0]
    assert "hardener burns and sensitises" in epoxy
    assert "initiator" not in epoxy


def test_a_written_bench_loads_and_so_it_does_with_every_comment_taken_live() -> None:
    assert [one.name for one in parse_bench(bench_template(), "b").channel] == [
        "bag",
        "part1",
        "shop",
    ]
    live = parse_bench(all_live(bench_template()), "b")
    assert live.mqtt is not None


@pytest.mark.parametrize(("root", "words"), [(JobDescription, JOB_WORDS), (Bench, BENCH_WORDS)])
def test_every_key_of_the_schema_has_its_words(
    root: type, words: dict[str, dict[str, str]]
) -> None:
    in_schema = {name: set(field_names(kind)) for name, kind in tables_of(root).items()}
    if "resin" in in_schema:
        in_schema["resin"].add("preset")
    assert {name: set(keys) for name, keys in words.items()} == in_schema
