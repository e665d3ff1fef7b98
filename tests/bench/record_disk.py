"""A disk that is full, refuses or dawdles under the running daemon: it goes on taking samples.

Four troubles on the real daemon's record: no file may grow (a limit of the kernel), no block is
free (a small memory disk, where mounting is allowed), a disk that went read-only, and syncs of five
seconds (both by a preloaded shim). Lateness is from the board's word to the daemon's stamp in the
record. Beside it sleeps a process that does nothing else: how late that one wakes is the machine's
own share.
"""

from __future__ import annotations

import errno
import os
import resource
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_verify import find_changes
from tests.bench.bare_sleeper import BareSleeper
from tests.bench.counts import Count, Counted
from tests.bench.talking_board import PERIOD_S, TalkingBoard, number_of
from tests.outputs.disk_log import build_shim
from tests.system.room import Child, Room
from tests.waiting import until

NAME = "record_disk"
MOODS = Path(__file__).parents[1] / "outputs" / "disk_moods.c"
FULL_TROUBLE_S, SAMPLE_TROUBLE_S = 60.0, 2.0
CALM_SAMPLES = 20
FULL_CALM_SAMPLES = 300
UP_WITHIN_S = 60.0
LATE_PERIODS = 0.2
LATE_AGAINST_BARE = 2.0
"""A machine that is busy otherwise delays everybody: two processes have a hand in a sample, one in
the bare sleep."""
MEMORY_DISK_BYTES = 14 << 20
FILE_LIMIT_BYTES = 4096
DRAINED_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One way to spoil a disk."""

    name: str
    begin: Callable[[Room, Child], None]
    end: Callable[[Room, Child], None]
    small: bool = False
    """Whether it needs a small disk of its own."""
    fault_told: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What came of it."""

    name: str
    samples: int
    lost: int
    told: bool
    calm_p99_s: float
    trouble_p99_s: float
    bare_p99_s: float
    """Of a bare sleep while the trouble lasted."""
    drained_s: float
    ballast_given: bool
    sound: bool

    @property
    def on_time(self) -> bool:
        """Whether samples came in time, by the clock or by the machine's own measure."""
        bound_s = max(LATE_PERIODS * PERIOD_S, LATE_AGAINST_BARE * self.bare_p99_s)
        return self.trouble_p99_s <= bound_s

    def __str__(self) -> str:
        return (
            f"{self.name:<24}{self.samples:>8}{self.lost:>6}{'yes' if self.told else 'NO':>6}"
            f"{self.calm_p99_s * 1e3:>10.1f}{self.trouble_p99_s * 1e3:>12.1f}"
            f"{self.bare_p99_s * 1e3:>10.1f}{self.drained_s:>9.2f}"
            f"{'yes' if self.ballast_given else '-':>9}"
        )


def run(seed: int, *, full: bool) -> Counted:
    """Spoil the disk of one daemon after the other."""
    del seed  # nothing is drawn
    stories: list[Story] = []
    missing: list[str] = []
    with tempfile.TemporaryDirectory(prefix="bv-") as base:
        shim = build_shim(Path(base), MOODS)
        for trouble in troubles() if full else troubles()[:2]:
            place = Path(base) / str(len(stories) + len(missing))
            place.mkdir()
            with _disk(place, small=trouble.small) as has_disk:
                if has_disk:
                    stories.append(_tell(trouble, place, shim, full=full))
                else:
                    missing.append(f"{trouble.name}: nothing may be mounted here")
    return _counted(stories, missing)


def troubles() -> tuple[Trouble, ...]:
    """Give each trouble; the first two need nothing special and little time."""
    return (
        Trouble(name="no file may grow", begin=_limit(FILE_LIMIT_BYTES), end=_limit(-1)),
        Trouble(name="read-only", begin=_mood(f"fail {errno.EROFS}"), end=_mood("")),
        Trouble(name="syncs of 5 s", begin=_mood("slow 5000"), end=_mood("")),
        Trouble(name="no block is free", begin=_fill, end=_empty, small=True),
    )


def _counted(stories: Sequence[Story], missing: Sequence[str]) -> Counted:
    head = (
        f"{'trouble':<24}{'samples':>8}{'lost':>6}{'told':>6}{'calm p99':>10}{'trouble p99':>12}"
        f"{'bare p99':>10}{'drained':>9}{'reserve':>9}"
    )
    return Counted(
        name=NAME,
        counts=(
            Count(what="troubles", value=len(stories), at_least=2),
            Count(what="samples", value=sum(one.samples for one in stories), at_least=20),
            Count(what="of them lost", value=sum(one.lost for one in stories), at_most=0),
            Count(what="not told", value=sum(not one.told for one in stories), at_most=0),
            Count(what="samples late", value=sum(not one.on_time for one in stories), at_most=0),
            Count(
                what=f"not stored {DRAINED_S:g} s after the trouble's end",
                value=sum(one.drained_s > DRAINED_S for one in stories),
                at_most=0,
            ),
            Count(what="not sound", value=sum(not one.sound for one in stories), at_most=0),
        ),
        lines=(head, *map(str, stories), "times in ms, drained in s", *missing),
    )


def _tell(trouble: Trouble, place: Path, shim: Path, *, full: bool) -> Story:
    room = Room(place)
    room.write_bench(period_s=PERIOD_S)
    board = TalkingBoard(room.device)
    preload = {
        "LD_PRELOAD": str(shim),
        "BAGVIGIL_DISK": str(place / "jobs"),
        "BAGVIGIL_MOOD": str(place / "mood"),
    }
    clock = SystemClock()
    try:
        daemon = room.watch(environment=preload)
        folder = room.job_folder(daemon)
        calm = FULL_CALM_SAMPLES if full else CALM_SAMPLES
        until(lambda: _stored(room) >= calm, UP_WITHIN_S + calm * PERIOD_S)
        first_bad = _stored(room)
        unheard = _unheard(folder)
        with BareSleeper(place / "bare", PERIOD_S) as sleeper:
            trouble.begin(room, daemon)
            start_s = clock.monotonic_s()
            given = _last(folder, FULL_TROUBLE_S if full else SAMPLE_TROUBLE_S)
            waiting_until = board.said
        trouble.end(room, daemon)
        begun_s = clock.monotonic_s()
        until(lambda: _stored(room) >= waiting_until - unheard, UP_WITHIN_S)
        drained_s = clock.monotonic_s() - begun_s
        code = daemon.stop()
    finally:
        room.close()
        board.close()
    bare_s = sleeper.late_s(start_s, begun_s)
    span = (first_bad, waiting_until - unheard)
    return _read(trouble, folder, board, span, bare_s, drained_s, given=given, clean=code == 0)


def _last(folder: Path, span_s: float) -> bool:
    """Let the trouble last; whether the ballast was given up meanwhile."""
    clock, given = SystemClock(), False
    end_s = clock.monotonic_s() + span_s
    while clock.monotonic_s() < end_s:
        given = given or not (folder / "ballast").exists()
        clock.sleep(PERIOD_S)
    return given


def _read(
    trouble: Trouble,
    folder: Path,
    board: TalkingBoard,
    span: tuple[int, int],
    bare_s: Sequence[float],
    drained_s: float,
    *,
    given: bool,
    clean: bool,
) -> Story:
    sound = clean and find_changes(folder) == ()
    with open_record(folder) as record:
        held = [one for one in record.stored_inputs() if one.raw is not None]
        events = [event for event in record.events() if isinstance(event, AlarmChanged)]
        (zero_s,) = (session.zero_mono_s for session in record.sessions())
    numbers = [number_of(one.raw or "") for one in held]
    late_s = [
        zero_s + (one.arrived_s or 0.0) - board.said_at_s[number - 1]
        for one, number in zip(held, numbers, strict=True)
    ]
    return Story(
        name=trouble.name,
        samples=len(held),
        lost=numbers[-1] - numbers[0] + 1 - len(set(numbers)),
        told=any(
            event.name == "recording_fault" and event.state is AlarmState.ACTIVE for event in events
        ),
        calm_p99_s=_p99(late_s[span[0] // 2 : span[0]]),  # its start is over by then
        trouble_p99_s=_p99(late_s[slice(*span)]),
        bare_p99_s=_p99(bare_s),
        drained_s=drained_s,
        ballast_given=given,
        sound=sound,
    )


def _unheard(folder: Path) -> int:
    """Count what the board had said before anybody listened."""
    with open_record(folder) as record:
        first = next(one.raw for one in record.stored_inputs() if one.raw is not None)
    return number_of(first) - 1


def _p99(values: Sequence[float]) -> float:
    # A stamp is kept to the millisecond, so a sample in time may seem to come early.
    return max(sorted(values)[int(0.99 * (len(values) - 1))], 0.0)


def _stored(room: Room) -> int:
    now = room.look()
    return 0 if now is None else now.stored_rows


def _limit(size: int) -> Callable[[Room, Child], None]:
    def set_it(room: Room, daemon: Child) -> None:
        del room
        soft = resource.RLIM_INFINITY if size < 0 else size
        resource.prlimit(daemon.pid, resource.RLIMIT_FSIZE, (soft, resource.RLIM_INFINITY))

    return set_it


def _mood(words: str) -> Callable[[Room, Child], None]:
    def set_it(room: Room, daemon: Child) -> None:
        del daemon
        (room.folder / "mood.new").write_text(words, encoding="ascii")
        (room.folder / "mood.new").replace(room.folder / "mood")

    return set_it


def _fill(room: Room, daemon: Child) -> None:
    del daemon
    block = bytes(1 << 12)
    with (room.folder / "jobs" / "full").open("wb", buffering=0) as filler:
        try:
            while True:
                filler.write(block)
        except OSError:
            return


def _empty(room: Room, daemon: Child) -> None:
    del daemon
    (room.folder / "jobs" / "full").unlink()


@contextmanager
def _disk(place: Path, *, small: bool) -> Iterator[bool]:
    """Mount a small memory disk where the jobs go; tells whether that may be done here."""
    jobs = place / "jobs"
    if not small:
        yield True
        return
    jobs.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", f"size={MEMORY_DISK_BYTES}", "tmpfs", str(jobs)]
    done = os.geteuid() == 0 and subprocess.run(words, check=False).returncode == 0
    try:
        yield done
    finally:
        if done:
            subprocess.run(["umount", str(jobs)], check=True)
