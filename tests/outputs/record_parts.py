"""Folders, frames and generated inputs that the tests of the record share."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

from hypothesis import strategies as st

from firmware_host.clock import Clock, ManualClock
from firmware_host.model.channels import Quantity, channel_named
from firmware_host.model.events import (
    EVENT_KINDS,
    CaseAhead,
    Event,
    Phase,
    PhaseEntered,
)
from firmware_host.model.samples import (
    PRESSURE_GRID,
    TEMPERATURE_GRID,
    Acknowledge,
    Care,
    Frame,
    Group,
    Input,
    LinkChanged,
    Mark,
    PliesLaid,
    Reason,
    SelfCheck,
    Shelve,
    Tick,
    Unseen,
)
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_schema import create_record, describe
from firmware_host.outputs.seal import seal

JOB_TEXT = b'[job]\r\npart = "kayak hatch cover"\n'
BENCH_TEXT = '[bench]\nname = "north-bench"\n'
VERSION = "0.1.0"
PATIENCE_S = 30.0
"""Real time after which a test that waits for the disk has failed."""

BOARD = Group(
    "board",
    tuple(map(channel_named, ("bag", "pump", "part1", "part2", "mould", "shop"))),
    0.5,
)
CUP = Group("cup board", (channel_named("cup"),), None)
GROUPS = (BOARD, CUP)
RAW = "32768,21004,01901900,01A01910,01801900,00010001"


def make_folder(base: Path, clock: Clock | None = None, job: bytes = JOB_TEXT) -> Path:
    """Make a job folder with an empty record, as the daemon does at the pour."""
    clock = clock or ManualClock()
    folder = create_job_folder(base, "kayak hatch cover", clock.wall(), job)
    meta = describe(
        clock,
        version=VERSION,
        part="kayak hatch cover",
        bench_text=BENCH_TEXT,
        job_sha256=job_sha256(job),
        groups=GROUPS,
    )
    create_record(folder, meta)
    return folder


def open_writer(folder: Path, clock: Clock | None = None) -> RecordWriter:
    """Write to the folder on a clock that stands still."""
    return RecordWriter(folder, clock or ManualClock(), version=VERSION, zero_mono_s=0.0)


def frame_at(number: int) -> Frame:
    """Make a frame that no other number makes."""
    bag_pa, part_k = (10_000 + number) / PRESSURE_GRID, (293_150 + number) / TEMPERATURE_GRID
    return Frame(number / 2, 0, (bag_pa, 900.5, part_k, 294.0, 293.9, 292.001), (None,) * 6)


def closing_event(time_s: float) -> PhaseEntered:
    """The event that ends a job."""
    return PhaseEntered(time_s=time_s, phase=Phase.CLOSED, since_s=time_s)


times = st.integers(0, 10**9).map(lambda t_ms: t_ms / 1000)
words = st.text(max_size=20)


def _readings(quantity: Quantity) -> st.SearchStrategy[float]:
    grid = PRESSURE_GRID if quantity is Quantity.PRESSURE else TEMPERATURE_GRID
    return st.integers(-(10**7), 10**7).map(lambda steps: steps / grid)


def frames_of(number: int) -> st.SearchStrategy[Frame]:
    """Frames of one group, with any reading missing for any reason."""
    cells = st.tuples(
        *(
            st.one_of(
                st.tuples(_readings(channel.role.quantity), st.none()),
                st.tuples(st.none(), st.sampled_from(Reason)),
            )
            for channel in GROUPS[number].channels
        )
    )
    return st.builds(
        lambda time_s, held: Frame(
            time_s, number, tuple(cell[0] for cell in held), tuple(cell[1] for cell in held)
        ),
        times,
        cells,
    )


inputs: st.SearchStrategy[Input] = st.one_of(
    frames_of(0),
    frames_of(1),
    st.builds(LinkChanged, times, st.integers(0, 1), st.booleans(), words),
    st.builds(Mark, times, words, times, words),
    st.builds(PliesLaid, times, st.integers(0, 10_000)),
    st.builds(Tick, times),
    st.builds(Unseen, times, times, words),
    st.builds(Acknowledge, times, words, words),
    st.builds(Shelve, times, words, words, times, words),
    st.builds(SelfCheck, times, st.sampled_from(Care), st.booleans(), words),
)
_finite = st.floats(allow_nan=False, allow_infinity=False)
_range = st.tuples(*(st.none() | _finite,) * 3)
_hottest = st.tuples(_finite, _finite, _finite)
_numbers = {
    "float": _finite,
    "float | None": st.none() | _finite,
    "Range": _range,
    "tuple[float, float, float]": _hottest,
    "tuple[CaseAhead, ...]": st.lists(
        st.builds(
            CaseAhead,
            warmed_k=st.none() | _finite,
            gel_s=_range,
            onset_s=_range,
            peak_s=_range,
            hottest_k=_hottest,
            rest_s=_range,
            pull_s=_range,
            target_s=_range,
        ),
        max_size=2,
    ).map(tuple),
}


def _events_of(kind: type[Event]) -> st.SearchStrategy[Event]:
    numbers = {
        field.name: _numbers[str(field.type)]
        for field in fields(kind)
        if str(field.type) in _numbers
    }
    return st.builds(kind, **numbers)


events: st.SearchStrategy[Event] = st.one_of(*map(_events_of, EVENT_KINDS.values()))


def make_sealed(tmp_path: Path) -> Path:
    """Make a job folder whose record holds one frame and is closed, and seal it."""
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(1))
    writer.close(PATIENCE_S)
    seal(folder)
    return folder
