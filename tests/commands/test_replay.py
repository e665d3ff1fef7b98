"""`bagvigil replay` and `bagvigil verify`: of a log, of the folder it makes, and of nonsense."""

from __future__ import annotations

import json
import math
import random
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeGuard

import pytest

from firmware_host.clock import ManualClock
from firmware_host.commands.replay import FLUSH_WAIT_S
from firmware_host.model.events import Event, LeakChecked, Verdict
from firmware_host.outputs.job_folder import create_job_folder
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import RECORD_NAME, create_record
from firmware_host.version import VERSION
from tests.commands.spoken import Say

JOB = """\
[job]
part = "drone fairing"
[resin]
family = "polyester"
[bag]
free_volume_l = 3.0
"""
MIXED_S, SHUT_S, OPEN_S, LENGTH_S = 60, 900, 1200, 1500
SHAPE = {
    "leak_checks": {
        "start_s", "end_s", "decided_s", "rise_pa_per_s", "rise_low_pa_per_s",
        "rise_high_pa_per_s", "verdict",
    },
    "alarms": {"name", "raised_s", "cleared_s", "channel"},
    "cure": {"time_s", "conversion", "low", "high"},
    "forecasts": {"at_s", "gel_s", "low_s", "high_s"},
    "sensor_faults": {"channel", "kind", "start_s", "end_s"},
}  # fmt: skip


def log_text(leak_pa_per_s: float) -> str:
    """A plain logger's file: a pump-down, one drop test, a couple that falls silent at the end."""
    rng = random.Random(5)
    marks = {MIXED_S: "mixed", 600: "bag_closed;pump_on", SHUT_S: "valve_shut"}
    marks[OPEN_S] = "valve_open"
    rows = ["time_s,bag:mbar,part1:degC,mark"]
    for time_s in range(0, LENGTH_S, 2):
        pa = 101_000.0 if time_s < 600 else 3000.0 + 98_000.0 * math.exp(-(time_s - 600) / 20.0)
        pa += leak_pa_per_s * (time_s - SHUT_S) if SHUT_S <= time_s < OPEN_S else 0.0
        part = f"{22.0 + rng.gauss(0.0, 0.1):.2f}" if time_s < 1400 else ""
        bag = f"{pa / 100.0 + rng.gauss(0.0, 0.2):.2f}"
        rows.append(f"{time_s},{bag},{part},{marks.get(time_s, '')}")
    return "\n".join(rows) + "\n"


@pytest.fixture
def log(here: Path) -> Path:
    (here / "job.toml").write_text(JOB, encoding="utf-8")
    (here / "log.csv").write_text(log_text(40.0), encoding="utf-8")
    return here / "log.csv"


def answers(path: Path) -> dict[str, Any]:
    def refuse(word: str) -> float:
        raise ValueError(f"{word} is no JSON number")

    held: dict[str, Any] = json.loads(path.read_text("utf-8"), parse_constant=refuse)
    return held


def check_shape(document: dict[str, Any]) -> None:
    assert document["schema"] == 1
    assert set(document) == {"schema", "gel", *SHAPE}
    for table, keys in SHAPE.items():
        for entry in document[table]:
            assert set(entry) == keys
    assert document["gel"] is None or set(document["gel"]) == {"time_s", "low_s", "high_s"}


def test_the_answers_have_the_agreed_shape(here: Path, log: Path, say: Say) -> None:
    spoken = say("replay", log, "--job", "job.toml", "--json", "out.json")
    assert (spoken.code, spoken.out) == (0, "")
    document = answers(here / "out.json")
    check_shape(document)
    (test,) = document["leak_checks"]
    assert test["verdict"] == "leaking"
    assert test["start_s"] == pytest.approx(SHUT_S, abs=5.0)
    assert test["rise_low_pa_per_s"] <= test["rise_pa_per_s"] <= test["rise_high_pa_per_s"]
    assert "bag_leaking" in {alarm["name"] for alarm in document["alarms"]}
    (fault,) = document["sensor_faults"]
    assert (fault["channel"], fault["kind"], fault["end_s"]) == ("part1", "silent", None)
    times_s = [entry["time_s"] for entry in document["cure"]]
    assert max(b - a for a, b in zip(times_s, times_s[1:], strict=False)) <= 60.0
    assert all(entry["low_s"] <= entry["gel_s"] for entry in document["forecasts"])


def test_without_a_file_the_answers_go_to_standard_output(log: Path, say: Say) -> None:
    spoken = say("replay", log, "--job", log.parent / "job.toml")
    assert spoken.code == 0
    check_shape(json.loads(spoken.out))


def test_nothing_said_at_a_time_depends_on_later_rows(here: Path, log: Path, say: Say) -> None:
    rows = log.read_text("utf-8").splitlines(keepends=True)
    (here / "half.csv").write_text("".join(rows[:502]), encoding="utf-8")
    assert say("replay", log, "--job", "job.toml", "--json", "all.json").code == 0
    assert say("replay", "half.csv", "--job", "job.toml", "--json", "half.json").code == 0
    whole, half = answers(here / "all.json"), answers(here / "half.json")
    for table, key in (("cure", "time_s"), ("forecasts", "at_s")):
        said = [entry for entry in half[table] if entry[key] < 1000.0]
        assert said == [entry for entry in whole[table] if entry[key] < 1000.0]
        assert said


def folder_of(here: Path) -> Path:
    (found,) = (here / "out").iterdir()
    return found


def test_the_folder_it_makes_replays_the_same_and_verifies(here: Path, log: Path, say: Say) -> None:
    given = ("replay", log, "--job", "job.toml", "--json", "first.json", "--folder", "out")
    assert say(*given).code == 0
    folder = folder_of(here)
    again = say("replay", folder, "--json", "again.json")
    assert again.code == 0
    assert again.out.endswith(" events, the same as recorded.\n")
    assert answers(here / "again.json") == answers(here / "first.json")
    verified = say("verify", folder)
    assert (verified.code, verified.out) == (0, f"{folder}: nothing was changed.\n")
    assert {path.name for path in folder.iterdir()} == {"job.toml", RECORD_NAME}


def rewritten(folder: Path, base: Path, version: str) -> tuple[Path, LeakChecked]:
    """The same job as an earlier version would have recorded it: one drop test judged otherwise."""
    with open_record(folder) as record:
        text, meta = record.job_toml().encode(), replace(record.meta, version=version)
        said = {one.n: list[Event]() for one in record.stored_inputs()}
        for one in record.stored_events():
            said[one.after_input].append(one.event)
        inputs = list(record.inputs())
    clock = ManualClock()
    made = create_job_folder(base, meta.part, clock.wall(), text)
    create_record(made, meta)
    (old,) = {one for events in said.values() for one in events if _is_final(one)}
    writer = RecordWriter(made, clock, version=version, zero_mono_s=0.0)
    for given, events in zip(inputs, said.values(), strict=True):
        writer.put(
            given,
            [replace(old, verdict=Verdict.UNDECIDED) if one == old else one for one in events],
        )
    writer.close(FLUSH_WAIT_S)
    return made, old


def _is_final(event: Event) -> TypeGuard[LeakChecked]:
    return isinstance(event, LeakChecked) and event.final


def test_another_version_is_named_with_every_word_that_it_says_otherwise(
    here: Path, log: Path, say: Say
) -> None:
    assert say("replay", log, "--job", "job.toml", "--folder", "out").code == 0
    made, now = rewritten(folder_of(here), here / "old", "0.0.9")
    spoken = say("replay", made)
    assert spoken.code == 1
    assert f"Recorded with version 0.0.9, replayed with {VERSION}." in spoken.err
    assert re.fullmatch(
        rf"Event \d+ \(LeakChecked at {now.time_s} s\): "
        rf"verdict {re.escape(repr(Verdict.UNDECIDED))} -> {re.escape(repr(now.verdict))}\.\n",
        spoken.out,
    )
    assert say("verify", made).code == 0  # nobody changed it: it was said so then


def held_by(folder: Path) -> tuple[object, ...]:
    """Everything that a record says."""
    with open_record(folder) as record:
        return (
            record.meta,
            list(record.stored_inputs()),
            list(record.stored_events()),
            record.sessions(),
            record.wall_clock(),
        )


def test_a_changed_letter_is_named_with_its_place(here: Path, log: Path, say: Say) -> None:
    assert say("replay", log, "--job", "job.toml", "--folder", "out").code == 0
    record = folder_of(here) / RECORD_NAME
    sound = record.read_bytes()
    assert sound.count(b'"verdict":"leaking","final":true') == 1
    record.write_bytes(sound.replace(b'"leaking","final":true', b'"leakinG","final":true'))
    spoken = say("verify", folder_of(here))
    assert spoken.code == 1
    assert re.fullmatch(rf"{re.escape(str(record))}: event \d+ was changed\n", spoken.out)


def test_a_flipped_bit_never_passes_as_the_record(here: Path, log: Path, say: Say) -> None:
    assert say("replay", log, "--job", "job.toml", "--folder", "out").code == 0
    folder = folder_of(here)
    record = folder / RECORD_NAME
    sound, held = record.read_bytes(), held_by(folder)
    rng = random.Random(11)
    codes = []
    for _ in range(100):
        at = rng.randrange(len(sound))
        spoilt = bytearray(sound)
        spoilt[at] ^= 1 << rng.randrange(8)
        record.write_bytes(spoilt)
        spoken = say("verify", folder)
        codes.append(spoken.code)
        if spoken.code == 0:
            # Much of a small file is free space, and SQLite's own counters mean nothing to us.
            assert held_by(folder) == held, at
        else:
            assert str(record) in spoken.out + spoken.err
    assert set(codes) == {0, 1}
    assert codes.count(1) >= 30


def test_a_changed_job_description_is_named(here: Path, log: Path, say: Say) -> None:
    assert say("replay", log, "--job", "job.toml", "--folder", "out").code == 0
    job = folder_of(here) / "job.toml"
    job.write_text(job.read_text("utf-8").replace("3.0", "4.0"), encoding="utf-8")
    spoken = say("verify", job.parent)
    assert spoken.code == 1
    assert spoken.out == f"{job} is not the text that was poured; put the old one back\n"


BAD_HEADER = "time,bag:psi,part:degC,oven:degC,mark\n0,1,2,3,\n"
BAD_ROWS = "time_s,bag:mbar,mark\n0,1,\n2,x,\n5,1,mixedd\n7,1\n7,1,\n"
BAD_JOB = '[job]\npart = 3\nwork_time = 2\n[resin]\nfamily = "glue"\n'


@pytest.mark.parametrize(
    ("held", "named"),
    [
        (BAD_HEADER, ("psi", "oven")),
        (BAD_ROWS, ("line 3", '"x"', "mixedd", "line 5")),
    ],
)
def test_every_problem_of_a_bad_log_is_told_together(
    here: Path, log: Path, say: Say, held: str, named: tuple[str, ...]
) -> None:
    assert log
    (here / "bad.csv").write_text(held, encoding="utf-8")
    spoken = say("replay", "bad.csv", "--job", "job.toml", "--json", "out.json")
    assert (spoken.code, spoken.out) == (2, "")
    for word in named:
        assert word in spoken.err
    assert not (here / "out.json").exists()


def test_every_problem_of_a_bad_job_is_told_together(here: Path, log: Path, say: Say) -> None:
    (here / "bad.toml").write_text(BAD_JOB, encoding="utf-8")
    spoken = say("replay", log, "--job", "bad.toml", "--folder", "out")
    assert (spoken.code, spoken.out) == (2, "")
    for word in ("part", "work_time", "glue"):
        assert word in spoken.err
    assert not (here / "out").exists()


def nonsense() -> Iterable[tuple[str, bytes]]:
    rng = random.Random(12)
    yield "empty", b""
    yield "noise", rng.randbytes(5000)
    yield "zeros", bytes(5000)
    yield "header", b"time_s,bag:Pa\n"
    yield "wide", ("time_s,bag:mbar\n" + "1," * 5000 + "\n").encode("utf-16")
    yield "huge numbers", b"time_s,bag:Pa\n0,1e308\n1e308,nan\n1e309,inf\n"
    yield "quotes", b'time_s,bag:Pa\n0,"1\n2,3\n'
    yield "escapes", b"time_s,bag:Pa\x1b]52;c;eA==\x07,\xe2\x80\xae:Pa\n0,1,2\n"
    yield "sqlite", b"SQLite format 3\0" + rng.randbytes(3000)
    yield "deep", b"[" * 100_000


@pytest.mark.parametrize(("name", "held"), list(nonsense()))
def test_a_file_of_nonsense_is_refused_in_words(
    here: Path, log: Path, say: Say, name: str, held: bytes
) -> None:
    assert log
    for suffix in (".csv", ".sqlite", ".toml"):
        (here / f"{name}{suffix}").write_bytes(held)
    (here / "folder").mkdir()
    (here / "folder" / RECORD_NAME).write_bytes(held)
    tries = [
        ("replay", f"{name}.csv", "--job", "job.toml"),
        ("replay", f"{name}.sqlite"),
        ("replay", "log.csv", "--job", f"{name}.toml"),
        ("replay", "log.csv", "--job", "job.toml", "--bench", f"{name}.toml"),
        ("replay", "folder"),
        ("verify", "folder"),
        ("verify", f"{name}.sqlite"),
        ("watch", "--bench", f"{name}.toml", "--job", "job.toml"),
        ("new", "--from", f"{name}.toml", "--out", "fresh.toml"),
        ("mark", "mixed", "--bench", f"{name}.toml"),
    ]
    for words in tries:
        if name == "empty" and "--bench" in words:
            continue  # a bench of nothing is a bench
        spoken = say(*words)
        assert spoken.code in (1, 2), words
        assert spoken.err.strip() or spoken.out.strip(), words
        assert "\x1b" not in spoken.out + spoken.err, words
        assert "\u202e" not in spoken.out + spoken.err, words


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ((), 2),
        (("frobnicate",), 2),
        (("replay",), 2),
        (("replay", "log.csv"), 2),
        (("replay", "absent.csv", "--job", "job.toml"), 2),
        (("replay", "log.csv", "--job", "absent.toml"), 2),
        (("replay", "log.csv", "--job", "."), 2),
        (("replay", ".", "--job", "job.toml"), 2),
        (("replay", "."), 1),
        (("replay", "/dev/null", "--job", "job.toml"), 2),
        (("replay", "log.csv", "--job", "job.toml", "--json", "absent/out.json"), 2),
        (("replay", "log.csv", "--job", "job.toml", "--json", "."), 2),
        (("replay", "log.csv", "--job", "job.toml", "--folder", "log.csv"), 1),
        (("replay", "log\0.csv", "--job", "job.toml"), 2),
        (("verify",), 2),
        (("verify", "absent"), 1),
        (("verify", "log.csv"), 1),
        (("verify", "a\0b"), 1),
        (("watch",), 2),
        (("watch", "--bench", "absent.toml", "--job", "job.toml"), 2),
        (("watch", "--bench", "log.csv", "--job", "job.toml"), 2),
        (("watch", "--bench", "log.csv", "--job", "job.toml", "--clock-rate", "nan"), 2),
        (("--version",), 0),
        (("--help",), 0),
        (("replay", "--help"), 0),
    ],
)
def test_a_strange_command_line_ends_with_its_code_and_a_word(
    log: Path, say: Say, words: tuple[str, ...], code: int
) -> None:
    assert log
    spoken = say(*words)
    assert spoken.code == code, spoken.err
    assert spoken.out.strip() or spoken.err.strip()


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--speed", "60"), "--speed is the pace of --panel"),
        (("--panel", "--speed", "0.5"), "--speed 0.5 must be at least 1 and at most 600."),
        (("--panel", "--speed", "nan"), "--speed nan must be at least 1 and at most 600."),
        (("--panel",), "is a log: make a job folder of it with --folder OUT"),
    ],
)
def test_a_panel_that_cannot_be_shown_says_why(
    log: Path, say: Say, words: tuple[str, ...], named: str
) -> None:
    spoken = say("replay", log, *words)
    assert (spoken.code, spoken.out) == (2, "")
    assert named in spoken.err


def test_a_panel_without_a_terminal_says_why(here: Path, say: Say) -> None:
    spoken = say("replay", here, "--panel")
    assert (spoken.code, spoken.out) == (2, "")
    assert "--panel needs a terminal." in spoken.err
