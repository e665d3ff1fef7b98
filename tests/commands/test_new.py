"""`bagvigil new`: a job description that loads, and never one lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from firmware_host.config.load import load_bench, load_job
from firmware_host.config.schema import Family
from tests.commands.spoken import Say


@pytest.mark.parametrize("family", list(Family))
def test_the_file_it_writes_loads_and_holds_what_was_given(
    here: Path, say: Say, family: Family
) -> None:
    spoken = say(
        "new", "--part", "drone fairing", "--family", family.value, "--work-time-min", "18"
    )
    assert (spoken.code, spoken.err) == (0, "")
    job = load_job(here / "job.toml")
    assert (job.job.part, job.resin.family, job.job.work_time_min) == (
        "drone fairing",
        family,
        18.0,
    )


def test_without_a_terminal_it_asks_nothing_and_takes_the_defaults(here: Path, say: Say) -> None:
    spoken = say("new")
    assert (spoken.code, spoken.err) == (0, "")
    job = load_job(here / "job.toml")
    assert (job.job.part, job.job.initiator_percent) == ("kayak hatch cover", 1.5)


def test_a_file_that_is_there_is_never_written_over(here: Path, say: Say) -> None:
    (here / "job.toml").write_text("mine", encoding="utf-8")
    spoken = say("new")
    assert (spoken.code, spoken.out) == (2, "")
    assert spoken.err == "job.toml is there already. Name another file with --out.\n"
    assert (here / "job.toml").read_text(encoding="utf-8") == "mine"


def test_a_link_to_nowhere_is_not_followed(here: Path, say: Say) -> None:
    (here / "job.toml").symlink_to(here / "elsewhere")
    assert say("new").code == 2
    assert not (here / "elsewhere").exists()


def test_a_past_job_is_copied_to_the_letter(here: Path, say: Say) -> None:
    text = '# our usual mix\n[job]\npart = "drone fairing"\n[resin]\nfamily = "epoxy"\n'
    folder = here / "past"
    folder.mkdir()
    (folder / "job.toml").write_text(text, encoding="utf-8")
    assert say("new", "--from", folder, "--out", "a.toml").code == 0
    assert say("new", "--from", folder / "job.toml", "--out", "b.toml").code == 0
    assert (here / "a.toml").read_text("utf-8") == (here / "b.toml").read_text("utf-8") == text


def test_a_past_job_that_is_wrong_is_not_copied(here: Path, say: Say) -> None:
    (here / "past.toml").write_text('[job]\npart = "x"\nwork_time = 3\n', encoding="utf-8")
    spoken = say("new", "--from", "past.toml")
    assert spoken.code == 2
    assert "work_time_min" in spoken.err
    assert not (here / "job.toml").exists()


def test_a_bench_file_is_written_beside_it_on_request(here: Path, say: Say) -> None:
    assert say("new", "--bench", "bench.toml").code == 0
    assert load_bench(here / "bench.toml").channel


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--work-time-min", "-3"), "work_time_min"),
        (("--work-time-min", "nan"), "work_time_min"),
        (("--initiator-percent", "1e308"), "initiator_percent"),
        (("--part", ""), ""),
        (("--part", "a\x1b[31m\u202eb"), "holds a character that cannot be shown"),
        (("--out", "absent/job.toml"), "absent/job.toml cannot be written"),
        (("--from", "absent"), "absent"),
    ],
)
def test_nonsense_is_refused_or_made_into_a_file_that_loads(
    here: Path, say: Say, words: tuple[str, ...], named: str
) -> None:
    spoken = say("new", *words)
    if spoken.code == 0:
        load_job(here / "job.toml")
    else:
        assert spoken.code == 2
        assert named in spoken.err
        assert not (here / "job.toml").exists()
    assert "\x1b" not in spoken.out + spoken.err
    assert (spoken.code == 0) is (named == "")
