"""`bagvigil export`: by hand, and given nonsense."""

from __future__ import annotations

import json
from pathlib import Path

from tests.commands.spoken import Say
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer


def folder_in(here: Path) -> Path:
    folder = make_folder(here / "jobs")
    writer = open_writer(folder)
    writer.put(frame_at(1))
    writer.close(PATIENCE_S)
    return folder


def test_a_log_is_written_with_its_columns_and_line_ends(here: Path, say: Say) -> None:
    folder = folder_in(here)
    spoken = say("export", folder, "--csv", "out.csv")
    assert (spoken.code, spoken.out) == (0, "")
    assert (here / "out.csv").read_bytes() == (
        b"time_s,bag:Pa,pump:Pa,part1:degC,part2:degC,mould:degC,shop:degC,cup:degC,mark\r\n"
        b"0.500,1000.1,900.5,20.001,20.850,20.750,18.851,,\r\n"
    )


def test_json_is_one_object(here: Path, say: Say) -> None:
    assert say("export", folder_in(here), "--json", "out.json").code == 0
    assert json.loads((here / "out.json").read_text("utf-8"))["inputs"][0]["n"] == 1


def test_what_cannot_be_written_or_read_is_named(here: Path, say: Say) -> None:
    folder = folder_in(here)
    for words, named in (
        ((folder, "--csv", here), "is a folder"),
        ((folder, "--csv", here / "no" / "out.csv"), "No such file"),
        ((here / "none", "--csv", "out.csv"), "does not exist"),
        ((folder,), "one of the arguments --csv --json --parquet is required"),
    ):
        spoken = say("export", *words)
        assert spoken.code in (1, 2), words
        assert named in spoken.err
    assert sorted(path.name for path in here.iterdir()) == ["jobs"]
