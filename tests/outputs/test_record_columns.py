from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firmware_host.errors import RecordError
from firmware_host.model.samples import Frame, Input, Mark, Reason, Tick
from firmware_host.outputs import record_columns
from firmware_host.outputs.record_columns import FrameColumns, read_columns
from firmware_host.outputs.record_reader import open_record
from tests.outputs.record_parts import PATIENCE_S, frame_at, inputs, make_folder, open_writer


def written(base: Path, given: list[Input]) -> Path:
    folder = make_folder(base)
    writer = open_writer(folder)
    for one in given:
        writer.put(one)
    writer.close(PATIENCE_S)
    return folder


def read_back(folder: Path, *, frames_too: bool = True) -> tuple[list[Frame], list[Input]]:
    """Turn columns into frames again, without their reasons."""
    held: list[Frame] = []
    others: list[Input] = []
    with open_record(folder, frames_too=frames_too) as record:
        for told, _ in read_columns(record):
            if not isinstance(told, FrameColumns):
                others.append(told)
                continue
            for time_s, *values in zip(told.time_s, *told.values, strict=True):
                cells = tuple(None if np.isnan(v) else float(v) for v in values)
                held.append(Frame(float(time_s), told.group, cells, ()))
    return held, others


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(given=st.lists(inputs, max_size=40), at_once=st.integers(1, 50))
def test_columns_hold_the_very_values_that_the_row_reader_gives(
    tmp_path_factory: pytest.TempPathFactory, given: list[Input], at_once: int
) -> None:
    folder = written(tmp_path_factory.mktemp("columns"), given)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(record_columns, "PAGES_AT_ONCE", at_once)
        held, others = read_back(folder)
    for group in (0, 1):
        expected = [
            (one.time_s, one.values)
            for one in given
            if isinstance(one, Frame) and one.group == group
        ]
        assert [(one.time_s, one.values) for one in held if one.group == group] == expected
    assert others == [one for one in given if not isinstance(one, Frame)]


def test_a_missing_reading_is_no_number(tmp_path: Path) -> None:
    frame = frame_at(1)
    blank = Frame(frame.time_s, 0, (None, *frame.values[1:]), (Reason.NOT_READ, *frame.reasons[1:]))
    with open_record(written(tmp_path, [blank])) as record:
        told, number = next(read_columns(record))
    assert isinstance(told, FrameColumns)
    assert np.isnan(told.values[0]).tolist() == [True]
    assert number == 1


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE frame_0 SET bag_dpa = bag_dpa + 1 WHERE n = 5",
        "UPDATE frame_0 SET crc = crc + 1 WHERE n = 4",
        "DELETE FROM frame_0 WHERE n = 4",
        "UPDATE frame_0 SET raw = 'x' WHERE n = 5",
    ],
)
def test_nothing_is_handed_out_from_a_damaged_run(tmp_path: Path, damage: str) -> None:
    folder = written(tmp_path, [Tick(0.0), *(frame_at(n) for n in range(1, 9))])
    with closing(sqlite3.connect(folder / "record.sqlite")) as connection:
        connection.execute(damage)
        connection.commit()
    with (
        open_record(folder) as record,
        pytest.raises(RecordError, match=r"row [45] of frame_0 does not fit its check"),
    ):
        list(read_columns(record))


def test_no_single_changed_byte_passes_for_a_reading(tmp_path: Path) -> None:
    folder = written(tmp_path, [Tick(0.0), *(frame_at(n) for n in range(1, 200))])
    sound, path = read_back(folder), folder / "record.sqlite"
    data = path.read_bytes()
    draw = random.Random(5)
    refused = 0
    for place in draw.sample(range(4096, len(data)), 400):
        changed = bytearray(data)
        changed[place] ^= draw.randrange(1, 256)
        path.write_bytes(changed)
        try:
            held, others = read_back(folder, frames_too=False)
        except RecordError:
            refused += 1
        else:
            assert (held, others) == sound  # it stood where nothing is read
    assert refused > 50


def test_a_changed_mark_is_found_as_well(tmp_path: Path) -> None:
    folder = written(tmp_path, [frame_at(1), Mark(1.0, "mixed", 1.0), frame_at(2)])
    with closing(sqlite3.connect(folder / "record.sqlite")) as connection:
        connection.execute("UPDATE input SET body = replace(body, 'mixed', 'dosed')")
        connection.commit()
    with open_record(folder) as record, pytest.raises(RecordError, match="row 2 of input"):
        list(read_columns(record))


def test_an_empty_record_has_no_columns(tmp_path: Path) -> None:
    with open_record(written(tmp_path, [])) as record:
        assert list(read_columns(record)) == []
