"""How the daemon goes on with a record that it is reading and writing at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from firmware_host.app import NOT_RUNNING, go_on
from firmware_host.model.samples import Input, Tick
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer


def test_a_record_that_ended_well_takes_new_rows_while_its_old_ones_are_judged(
    tmp_path: Path,
) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    for number in range(1, 4):
        writer.put(frame_at(number))
    writer.close(PATIENCE_S)  # one file is left: the log begins anew with the next commit
    recorder = open_writer(folder)
    judged: list[Input] = []

    def resume(inputs: Iterator[Input], last_s: float, why: str) -> None:
        assert (last_s, why) == (1.5, NOT_RUNNING)
        judged.append(next(inputs))
        recorder.put(Tick(2.0))
        assert recorder.flush(PATIENCE_S), recorder.trouble
        judged.extend(inputs)

    go_on(resume, recorder, folder, 1.5)
    assert judged == [frame_at(number) for number in range(1, 4)]
    recorder.close(PATIENCE_S)
