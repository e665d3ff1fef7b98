"""`bagvigil verify`: what was changed, and whether a hash that somebody kept is the record's."""

from __future__ import annotations

from pathlib import Path

from firmware_host.outputs.record_reader import open_record
from tests.commands.spoken import Say
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer


def recorded(base: Path) -> tuple[Path, str]:
    folder = make_folder(base)
    writer = open_writer(folder)
    for number in range(1, 11):
        writer.put(frame_at(number))
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        (head,) = record.heads()
    return folder, head.sha256


def test_a_hash_that_was_kept_is_found_again(tmp_path: Path, say: Say) -> None:
    folder, kept = recorded(tmp_path)
    spoken = say("verify", folder, "--head", kept)
    assert (spoken.code, spoken.out) == (0, f"{folder}: nothing was changed.\n")


def test_a_hash_of_other_rows_is_named(tmp_path: Path, say: Say) -> None:
    folder, kept = recorded(tmp_path)
    other = kept[::-1]
    spoken = say("verify", folder, "--head", other)
    assert spoken.code == 1
    assert spoken.out.endswith(f"the hash {other} is nowhere in its chain: not these rows\n")
