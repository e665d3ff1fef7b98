"""One line that stands for all rows before it: over every restart, and for no other rows."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.model.events import Event
from firmware_host.model.samples import Input, Mark
from firmware_host.model.snapshot import RecordHead
from firmware_host.outputs.head_chain import BLOCK_INPUTS, NO_HEAD, Head, HeadChain
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_resume import chain_of, resume_point
from firmware_host.outputs.record_rows import row_bytes, row_check
from firmware_host.outputs.record_schema import RECORD_NAME
from firmware_host.outputs.record_verify import find_changes, missing_head
from tests.outputs.record_parts import (
    PATIENCE_S,
    RAW,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)

LONG = 2 * BLOCK_INPUTS + 100


def said(first: int, last: int) -> list[tuple[Input, Sequence[Event]]]:
    """Frames, and every hundredth time a mark with an event."""
    found: list[tuple[Input, Sequence[Event]]] = []
    for number in range(first, last + 1):
        found.append((frame_at(number), ()))
        if number % 100 == 0:
            at_s = number / 2 + 0.1
            found.append((Mark(at_s, "valve_shut", at_s), [closing_event(at_s)]))
    return found


def record(folder: Path, first: int, last: int) -> RecordHead | None:
    writer = open_writer(folder)
    for given, events in said(first, last):
        writer.put(given, events, raw=RAW if not events else None)
    assert writer.flush(PATIENCE_S)
    head = writer.stored.head
    writer.close(PATIENCE_S)
    return head


def by_hand(folder: Path, heads: Sequence[Head]) -> list[str]:
    """The chain as anybody may compute it, with a hash function and the rows as they were put."""
    with open_record(folder) as held:
        rows = list(held.raw_said(NO_HEAD))
    found, before, at = [], "", 0
    for head in heads:
        size = head.inputs + head.events
        text = b"".join(row_bytes(row.table, row.cells) for row in rows[at:size])
        before = hashlib.sha256(bytes.fromhex(before) + text).hexdigest()
        found.append(before)
        at = size
    return found


def heads_of(folder: Path) -> tuple[Head, ...]:
    with open_record(folder) as held:
        return held.heads()


def test_each_block_goes_on_from_the_one_before(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    told = record(folder, 1, LONG)
    first, second, last = heads_of(folder)
    assert (first.inputs, second.inputs) == (BLOCK_INPUTS, 2 * BLOCK_INPUTS)
    assert told == RecordHead(inputs=second.inputs, sha256=second.sha256)
    with open_record(folder) as held:
        assert (last.inputs, last.events) == (held.input_count, held.event_count)
    assert [one.sha256 for one in (first, second, last)] == by_hand(folder, (first, second, last))
    assert find_changes(folder) == ()


def test_an_event_stands_after_its_input(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    record(folder, 1, 200)
    with open_record(folder) as held:
        tables = [row.table for row in held.raw_said(NO_HEAD)]
    assert tables == ([*["frame_0"] * 100, "input", "event"] * 2)


@pytest.mark.parametrize("cut", [0, 1, 37, BLOCK_INPUTS - 1, BLOCK_INPUTS, BLOCK_INPUTS + 5])
def test_a_writer_that_was_cut_off_goes_on_with_the_same_chain(tmp_path: Path, cut: int) -> None:
    whole, parted = make_folder(tmp_path / "whole"), make_folder(tmp_path / "parted")
    record(whole, 1, LONG)
    writer = open_writer(parted)
    for given, events in said(1, cut):
        writer.put(given, events, raw=RAW if not events else None)
    assert writer.flush(PATIENCE_S)
    with open_record(parted) as held:
        point, chain = resume_point(held), chain_of(held)
    assert chain is not None
    assert (chain.inputs, chain.events) == (point.inputs, point.events)
    assert chain.last == (point.head or NO_HEAD)
    # What a new process would know of it, as the killed one left it.
    rest = HeadChain(chain.last)
    with open_record(parted) as held:
        for row in held.raw_said(chain.last):
            (rest.take_event if row.table == "event" else rest.take_input)(
                row_bytes(row.table, row.cells)
            )
    assert rest.end_block() == chain.end_block()
    writer.close(PATIENCE_S)
    told = record(parted, cut + 1, LONG)
    assert told is not None
    assert find_changes(parted) == ()
    heads = heads_of(parted)
    assert [one.sha256 for one in heads] == by_hand(parted, heads)
    assert [one.n for one in heads] == list(range(1, len(heads) + 1))


def forged(folder: Path) -> None:
    """Change one reading, and compute every check after it anew, as its maker could."""
    with closing(sqlite3.connect(folder / RECORD_NAME)) as made:
        made.execute("UPDATE frame_0 SET part1_mk = part1_mk + 5000 WHERE n = 50")
        with open_record(folder) as held:
            order = [(row.table, row.cells) for row in held.raw_inputs()]
        crc = 0
        for table, cells in order:
            held_cells = list(cells)
            if table == "frame_0" and cells[0] == 50:
                held_cells[4] = int(str(cells[4])) + 5000
            crc = row_check(table, tuple(held_cells), crc)
            made.execute(f"UPDATE {table} SET crc = ? WHERE n = ?", (crc, cells[0]))
        made.commit()


def test_a_row_whose_checks_were_computed_anew_is_found_by_the_hash(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    record(folder, 1, LONG)
    forged(folder)
    path = folder / RECORD_NAME
    assert find_changes(folder) == (
        f"{path}: input 1 to {BLOCK_INPUTS} do not fit the hash over them",
    )


def test_a_chain_that_was_computed_anew_has_another_head(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    record(folder, 1, LONG)
    kept = heads_of(folder)[1]
    assert missing_head(folder, kept.sha256.upper()) == ()
    forged(folder)
    again = by_hand(folder, heads_of(folder))
    with closing(sqlite3.connect(folder / RECORD_NAME)) as made:
        for head, sha256 in zip(heads_of(folder), again, strict=True):
            crc = row_check("head", (head.n, head.inputs, head.events, sha256))
            made.execute("UPDATE head SET sha256 = ?, crc = ? WHERE n = ?", (sha256, crc, head.n))
        made.commit()
    assert find_changes(folder) == ()  # which is why the line is kept elsewhere too
    assert missing_head(folder, kept.sha256) == (
        f"{folder / RECORD_NAME}: the hash {kept.sha256} is nowhere in its chain: not these rows",
    )


def test_a_record_of_an_earlier_time_is_written_on_without_a_chain(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with closing(sqlite3.connect(folder / RECORD_NAME)) as made:
        made.execute("DROP TABLE head")
    assert record(folder, 1, LONG) is None
    assert heads_of(folder) == ()
    assert find_changes(folder) == ()
