"""Job folders of past pours: a record with a pour, temperatures, a kick, and how it ended."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from firmware_host.clock import Clock, ManualClock
from firmware_host.model.channels import channel_named
from firmware_host.model.events import Event, GelPlaced, MarkTaken, Phase, PhaseEntered
from firmware_host.model.samples import Frame, Group
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_schema import create_record, describe

JOB = """
[job]
part = "hatch cover"
[resin]
family = "polyester"
[form]
name = "hatch form"
[[lots]]
what = "resin"
lot = "B-77"
"""
GROUP = Group("board", (channel_named("bag"), channel_named("part1")), 30.0)
PATIENCE_S = 30.0
GEL_S, PART_K = 2400.0, 291.15


def pour_folder(
    base: Path,
    job: str = JOB,
    *,
    gel_s: float = GEL_S,
    part_k: float | None = PART_K,
    clock: Clock | None = None,
) -> Path:
    """Make the folder of a job that was mixed at 60 s and gelled `gel_s` later."""
    gel_at_s = 60.0 + gel_s
    gel = GelPlaced(
        time_s=gel_at_s + 600.0,
        gel_s=gel_at_s,
        low_s=60.0 + 0.95 * gel_s,
        high_s=60.0 + 1.05 * gel_s,
    )
    events = (
        MarkTaken(time_s=60.0, name="mixed", at_s=60.0, taken=True, text=""),
        MarkTaken(time_s=960.0, name="bag_closed", at_s=960.0, taken=True, text=""),
        PhaseEntered(time_s=gel.time_s, phase=Phase.KICKED, since_s=gel.time_s),
        gel,
    )
    return folder_of(base, job, events, part_k, clock or ManualClock())


def folder_of(
    base: Path, job: str, events: Sequence[Event], part_k: float | None, clock: Clock
) -> Path:
    """Make a folder with these events; the couple reads `part_k` for an hour."""
    text = job.encode()
    folder = create_job_folder(base, "hatch cover", clock.wall(), text)
    meta = describe(
        clock, version="0.1.0", part="hatch cover", bench_text="", job_sha256=job_sha256(text),
        groups=(GROUP,),
    )  # fmt: skip
    create_record(folder, meta)
    writer = RecordWriter(folder, clock, version="0.1.0", zero_mono_s=0.0)
    for number in range(120):
        reasons = (None, None)
        frame = Frame(30.0 * number, 0, (2000.0, part_k), reasons)
        writer.put(frame, tuple(events) if number == 119 else ())
    writer.close(PATIENCE_S)
    return folder
