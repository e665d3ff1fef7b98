"""What a record says, its export says again."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from typing import Any

import pytest

from firmware_host.clock import ManualClock
from firmware_host.config.load import load_job
from firmware_host.core.monitor import Monitor
from firmware_host.errors import InputError, RecordError
from firmware_host.inputs.csv_log import open_log
from firmware_host.model.channels import Quantity
from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Group, Input, Mark, Reason, Tick, Unseen
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.log_rows import LeftOut, LogRow, log_rows, marks_of
from firmware_host.outputs.record_export import export_csv, export_json, export_parquet
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import create_record, describe
from firmware_host.replay import gather, replay_log, replay_record
from tests.logs.test_six_jobs import HERE, inputs_of
from tests.outputs.record_parts import (
    BOARD,
    CUP,
    GROUPS,
    PATIENCE_S,
    VERSION,
    frame_at,
    make_folder,
    open_writer,
)

SECOND_PORT_LATER_S = 0.12


def no_progress(share: float) -> None:
    assert 0.0 <= share <= 1.0


def two_ports(name: str) -> tuple[tuple[Group, ...], list[Input]]:
    """A recorded job as a bench with two ports would have seen it, marks between the frames."""
    log, inputs = inputs_of(name)
    at = {
        quantity: [n for n, c in enumerate(log.channels) if c.role.quantity is quantity]
        for quantity in Quantity
    }
    groups = tuple(
        Group(quantity.value, tuple(log.channels[n] for n in places), 2.0)
        for quantity, places in at.items()
    )
    told: list[Input] = []
    for given in inputs:
        if isinstance(given, Mark):
            heard_s = round(given.time_s - 0.777, 3)
            told.append(Mark(time_s=heard_s, name=given.name, heard_s=heard_s))
        if isinstance(given, Frame):
            for number, places in enumerate(at.values()):
                time_s = round(given.time_s + number * SECOND_PORT_LATER_S, 3)
                values = tuple(given.values[n] for n in places)
                reasons = tuple(given.reasons[n] for n in places)
                told.append(Frame(time_s, number, values, reasons))
    return groups, sorted(told, key=lambda one: one.time_s)


def record_job(base: Path, name: str, groups: tuple[Group, ...], inputs: list[Input]) -> Path:
    clock, text = ManualClock(), (HERE / f"{name}.toml").read_bytes()
    folder = create_job_folder(base, name, clock.wall(), text)
    meta = describe(
        clock,
        version=VERSION,
        part=name,
        bench_text="",
        job_sha256=job_sha256(text),
        groups=groups,
    )
    create_record(folder, meta)
    writer = open_writer(folder, clock)
    monitor = Monitor(load_job(HERE / f"{name}.toml"), groups)
    for given in inputs:
        events: list[Event] = monitor.step(given)
        writer.put(given, events)
    writer.close(PATIENCE_S)
    return folder


def near(entries: list[dict[str, Any]], within_s: float) -> list[dict[str, Any]]:
    """The same entries, with times as approximate as given."""
    return [
        {
            key: pytest.approx(value, abs=within_s, rel=0.02) if isinstance(value, float) else value
            for key, value in entry.items()
        }
        for entry in entries
    ]


@pytest.mark.parametrize("name", ["couple-comes-off", "slow-leak-in-drop-test"])
def test_the_log_of_a_bench_with_two_ports_replays_to_what_its_record_says(
    tmp_path: Path, name: str
) -> None:
    groups, inputs = two_ports(name)
    folder = record_job(tmp_path, name, groups, inputs)
    with open_record(folder) as record:
        assert export_csv(record, tmp_path / "out.csv", no_progress) == LeftOut()
        held = gather(replay_record(record, no_progress))
    job = load_job(HERE / f"{name}.toml")
    said = gather(replay_log(open_log(tmp_path / "out.csv"), job, no_progress))
    assert said["leak_checks"] == near(held["leak_checks"], 1.0)
    assert said["alarms"] == near(held["alarms"], 2.0)
    assert len(said["cure"]) == len(held["cure"])
    assert said["cure"] == near(held["cure"], 0.01)
    assert said["gel"] == near([held["gel"]], 2.0)[0]
    assert [(one["channel"], one["kind"]) for one in said["sensor_faults"]] == [
        (one["channel"], one["kind"]) for one in held["sensor_faults"]
    ]
    assert said["sensor_faults"] == near(held["sensor_faults"], 2.0)


def test_the_log_of_one_port_replays_to_the_very_same_answers(tmp_path: Path) -> None:
    group, inputs = inputs_of("couple-comes-off")
    folder = record_job(tmp_path, "couple-comes-off", (group,), list(inputs))
    with open_record(folder) as record:
        export_csv(record, tmp_path / "out.csv", no_progress)
        held = gather(replay_record(record, no_progress))
    job = load_job(HERE / "couple-comes-off.toml")
    said = gather(replay_log(open_log(tmp_path / "out.csv"), job, no_progress))
    assert {key: said[key] for key in said if key != "alarms"} == {
        key: held[key] for key in held if key != "alarms"
    }
    assert said["alarms"] == held["alarms"]


def rows_of(*inputs: Input) -> tuple[list[LogRow], LeftOut]:
    left_out = LeftOut()
    marks = marks_of(inputs, left_out)
    return list(log_rows(inputs, marks, GROUPS, left_out)), left_out


def cup(time_s: float) -> Frame:
    return Frame(time_s, 1, (300.0,), (None,))


NO_CUP = (10_001, 9_005, 293_151, 294_000, 293_900, 292_001, None)
WITH_CUP = (*NO_CUP[:-1], 300_000)
BLANK = (None,) * 7


def test_frames_of_one_round_share_a_row_and_the_time_of_the_last() -> None:
    rows, _ = rows_of(frame_at(1), cup(0.9))
    assert rows == [LogRow(time_ms=900, steps=WITH_CUP)]


def test_a_frame_half_a_second_later_begins_a_row_of_its_own() -> None:
    rows, _ = rows_of(frame_at(1), cup(1.0))
    assert rows == [
        LogRow(time_ms=500, steps=NO_CUP),
        LogRow(time_ms=1000, steps=(*BLANK[:-1], 300_000)),
    ]


def test_two_frames_of_one_moment_keep_their_order_a_millisecond_apart() -> None:
    rows, _ = rows_of(frame_at(1), frame_at(1))
    assert [row.time_ms for row in rows] == [500, 501]


def test_a_mark_stands_where_the_person_puts_it_and_a_silent_moment_is_blank() -> None:
    late = Mark(time_s=0.25, name="mixed", heard_s=60.0)
    gone = Mark(time_s=60.0, name="abandoned", heard_s=60.0)
    rows, left_out = rows_of(frame_at(1), Tick(1.5), late, gone)
    assert rows == [
        LogRow(time_ms=250, steps=BLANK, marks=("mixed",)),
        LogRow(time_ms=500, steps=NO_CUP),
        LogRow(time_ms=1500, steps=BLANK),
    ]
    assert left_out == LeftOut(marks=1)


def test_a_frame_that_a_tick_overtook_finds_its_place_within_a_minute() -> None:
    rows, left_out = rows_of(Tick(60.5), frame_at(1), Tick(62.0), frame_at(2), Tick(122.1))
    assert [row.time_ms for row in rows] == [500, 1000, 60_500, 62_000, 122_100]
    assert left_out == LeftOut()


def test_a_frame_more_than_a_minute_late_is_counted_and_left_out() -> None:
    rows, left_out = rows_of(frame_at(2), Tick(61.001), frame_at(1))
    assert [row.time_ms for row in rows] == [1000, 61_001]
    assert left_out == LeftOut(frames=1)


def test_nothing_is_drawn_into_a_span_that_nobody_watched() -> None:
    gap = Unseen(time_s=100.0, start_s=0.5, why="the daemon was off")
    rows, _ = rows_of(frame_at(1), gap, frame_at(201))
    assert [row.time_ms for row in rows] == [500, 100_500]


def folder_of_three(base: Path) -> Path:
    folder = make_folder(base)
    writer = open_writer(folder)
    writer.put(frame_at(1), raw="1,2", arrived_s=0.501)
    open_cell = Frame(1.0, 1, (None,), (Reason.OPEN,))
    writer.put(open_cell)
    writer.put(Mark(time_s=1.0, name="mixed", heard_s=1.25, note="by hand"))
    writer.close(PATIENCE_S)
    return folder


def test_json_holds_every_input_with_what_was_kept_beside_it(tmp_path: Path) -> None:
    with open_record(folder_of_three(tmp_path)) as record:
        export_json(record, tmp_path / "out.json", no_progress)
    held = json.loads((tmp_path / "out.json").read_text("utf-8"))
    assert held["schema"] == 1
    assert held["meta"]["part"] == "kayak hatch cover"
    first, second, third = held["inputs"]
    assert first["channels"] == [channel.name for channel in BOARD.channels]
    assert (first["raw"], first["arrived_s"], first["time_s"]) == ("1,2", 0.501, 0.5)
    assert (second["group"], second["values"], second["reasons"]) == (CUP.name, [None], ["open"])
    assert third == {
        **{"n": 3, "kind": "mark", "mark": "mixed", "time_s": 1.0},
        **{"heard_s": 1.25, "note": "by hand"},
    }
    assert held["events"] == []


def test_parquet_without_its_library_says_so_in_one_line(tmp_path: Path) -> None:
    if importlib.util.find_spec("pyarrow") is not None:
        pytest.skip("pyarrow is here; the next test looks at the file")
    with (
        open_record(folder_of_three(tmp_path)) as record,
        pytest.raises(InputError, match=r"^Parquet needs pyarrow, which is not here: pip install"),
    ):
        export_parquet(record, tmp_path / "out.parquet", no_progress)
    assert not (tmp_path / "out.parquet").exists()


def test_parquet_has_a_column_for_each_channel_in_si(tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet", reason="pyarrow is an extra")
    with open_record(folder_of_three(tmp_path)) as record:
        export_parquet(record, tmp_path / "out.parquet", no_progress)
    held = parquet.read_table(tmp_path / "out.parquet").to_pydict()
    assert held["time_s"] == [0.5, 1.0, 1.001]
    assert held["bag_pa"] == [1000.1, None, None]
    assert held["mark"] == [None, "mixed", None]


def test_a_damaged_record_is_refused_and_leaves_no_file(tmp_path: Path) -> None:
    folder = folder_of_three(tmp_path)
    path = folder / "record.sqlite"
    path.write_bytes(path.read_bytes().replace(b'"note":"by hand"', b'"note":"by hanD"'))
    with open_record(folder) as record, pytest.raises(RecordError, match="row 3 of input"):
        export_csv(record, tmp_path / "out.csv", no_progress)
    assert [one.name for one in tmp_path.iterdir() if one.is_file()] == []
