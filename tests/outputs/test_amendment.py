"""What was found wrong afterwards stands beside what was recorded, with who, when and why."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.cli import main
from firmware_host.errors import RecordError
from firmware_host.outputs.amendment import amendments
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_verify import find_changes
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_sealed, open_writer


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_sealed(tmp_path)


def add(folder: Path, text: str) -> int:
    return main(["amend", str(folder), text, "--by", "Ada", "--why", "weighed again"])


def test_amendments_are_added_and_listed_and_nothing_else_changes(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert add(folder, "it was 1.2 %") == add(folder, "no, 1.3 %") == 0
    assert find_changes(folder) == ()
    capsys.readouterr()
    assert main(["amend", str(folder)]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first.startswith("1. 20")
    assert second.endswith("Ada: no, 1.3 % (why: weighed again)")
    with open_record(folder) as record:
        assert list(record.inputs()) == [frame_at(1)]
        assert [(one.n, one.by) for one in amendments(record)] == [(1, "Ada"), (2, "Ada")]


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE amendment SET by = 'Bob' WHERE n = 1", "amendment 1 was changed"),
        ("DELETE FROM amendment WHERE n = 1", "amendment 1 to 1 were taken away"),
    ],
)
def test_a_changed_amendment_is_named(folder: Path, statement: str, named: str) -> None:
    add(folder, "it was 1.2 %")
    add(folder, "no, 1.3 %")
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as plain:
        plain.execute(statement)
    assert named in " ".join(find_changes(folder))
    with open_record(folder) as record, pytest.raises(RecordError, match=named):
        list(amendments(record))


def test_who_and_why_are_asked_for(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["amend", str(folder), "it was 1.2 %", "--by", "Ada"]) == 2
    assert "--why needs 1 to 2000 letters, it has 0." in capsys.readouterr().err


def test_a_record_that_is_being_written_is_left_alone(folder: Path) -> None:
    writer = open_writer(folder)
    assert add(folder, "it was 1.2 %") == 3
    writer.close(PATIENCE_S)
