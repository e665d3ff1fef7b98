from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.errors import RecordError
from firmware_host.model.samples import Mark
from firmware_host.outputs.record_verify import find_changes
from tests.outputs.record_parts import (
    PATIENCE_S,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Six frames, a mark as input 7, three events."""
    made = make_folder(tmp_path)
    writer = open_writer(made)
    for number in range(6):
        writer.put(frame_at(number))
    writer.put(Mark(2.75, "mixed", 2.75), [closing_event(t_s) for t_s in (2.75, 3.0, 4.0)])
    writer.close(PATIENCE_S)
    return made


def changes(folder: Path, statement: str = "") -> tuple[str, ...]:
    """Change the record behind its back; say what is found, without the folder's long name."""
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as plain:
        plain.execute(statement)
    return tuple(line.replace(f"{folder}/", "") for line in find_changes(folder))


def test_an_untouched_folder_has_no_changes(folder: Path) -> None:
    assert changes(folder) == ()


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        (
            "UPDATE frame_0 SET part1_mk = 293149 WHERE n = 2",
            "record.sqlite: input 2 was changed (at 0.500 s)",
        ),
        (
            "UPDATE frame_0 SET t_ms = 501 WHERE n = 2",
            "record.sqlite: input 2 was changed (at 0.501 s)",
        ),
        (
            "UPDATE input SET body = replace(body, '2.75', '1.75') WHERE n = 7",
            "record.sqlite: input 7 was changed (at 1.750 s)",
        ),
        (
            "UPDATE event SET body = replace(body, 'closed', 'cooling') WHERE n = 2",
            "record.sqlite: event 2 was changed (said at 3.000 s)",
        ),
        ("UPDATE event SET kind = 'rumour' WHERE n = 2", "record.sqlite: event 2 was changed"),
        ("DELETE FROM frame_0 WHERE n IN (3, 4)", "record.sqlite: input 3 to 4 were taken away"),
        ("DELETE FROM input", "record.sqlite: input 7 to 7 were taken away"),
        ("DELETE FROM event WHERE n > 1", "record.sqlite: event 2 to 3 were taken away"),
        ("UPDATE session SET pid = 1", "record.sqlite: row 1 of session was changed"),
        ("UPDATE wall_clock SET mono_s = 5", "record.sqlite: row 1 of wall_clock was changed"),
        ("INSERT INTO lost VALUES(3, 9, 0)", "record.sqlite: row 3 of lost was changed"),
    ],
)
def test_a_change_is_named_with_its_place(folder: Path, statement: str, named: str) -> None:
    assert named in changes(folder, statement)


def test_one_changed_row_does_not_blame_its_neighbours(folder: Path) -> None:
    assert len(changes(folder, "UPDATE frame_0 SET bag_dpa = 0 WHERE n = 4")) == 1


def test_two_rows_that_changed_places_are_found(folder: Path) -> None:
    swap = "UPDATE frame_0 SET n = CASE n WHEN 3 THEN -4 ELSE -3 END WHERE n IN (3, 4)"
    changes(folder, swap)
    assert changes(folder, "UPDATE frame_0 SET n = -n WHERE n < 0") != ()


def test_an_edited_job_description_is_named(folder: Path) -> None:
    (folder / "job.toml").write_text("[job]\n")
    assert changes(folder) == ("job.toml is not the text that was poured; put the old one back",)


def test_a_missing_job_description_is_named(folder: Path) -> None:
    (folder / "job.toml").unlink()
    assert changes(folder) == ("job.toml cannot be read: No such file or directory",)


def test_a_file_that_rotted_all_over_is_named_by_its_first_places(tmp_path: Path) -> None:
    made = make_folder(tmp_path)
    writer = open_writer(made)
    for number in range(50):
        writer.put(frame_at(number))
    writer.close(PATIENCE_S)
    found = changes(made, "UPDATE frame_0 SET bag_dpa = 0")
    assert (len(found), found[-1]) == (21, "and more; the first places are named")


def test_a_flipped_bit_in_any_number_of_a_row_is_found(folder: Path) -> None:
    path = folder / "record.sqlite"
    sound = path.read_bytes()
    # Input 4, as SQLite lays integers out: bag 1000.3 Pa and pump 900.5 Pa, in tenths.
    start = sound.index(bytes.fromhex("2713" + "232d"))
    for bit in range(8 * 20):
        rotten = bytearray(sound)
        rotten[start + bit // 8] ^= 1 << bit % 8
        path.write_bytes(rotten)
        assert is_found(folder), f"bit {bit} of the row"


def is_found(folder: Path) -> bool:
    try:
        return find_changes(folder) != ()
    except RecordError:
        return True


def test_a_text_that_is_none_any_more_is_said(folder: Path) -> None:
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as plain:
        plain.execute("UPDATE meta SET value = CAST(x'22cb2822' AS TEXT) WHERE key = 'part'")
    with pytest.raises(RecordError, match="a text in it is none any more"):
        find_changes(folder)
