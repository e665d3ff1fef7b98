"""A writer in a process of its own, for the tests that kill it or take its disk away.

`run` writes until it is killed and says each number once it is stored. `fill` lets a file grow no
further, says what it is told, lifts the limit and ends cleanly; `stay-full` never lifts it.
"""

from __future__ import annotations

import itertools
import resource
import sys
from functools import partial
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.errors import RecordError
from firmware_host.outputs.record import RecordWriter
from tests.outputs.record_parts import PATIENCE_S, VERSION, frame_at

ROOM_BYTES = 200_000


def run(writer: RecordWriter) -> int:
    """Write for ever; say what is stored as soon as the writer says so."""
    begun = writer.stored.inputs
    for number in itertools.count(begun + 1):
        writer.put(frame_at(number), on_stored=partial(say, number))
        if number % 7 == 0:
            writer.flush(PATIENCE_S)
    return 0


def say(number: int) -> None:
    print(number, flush=True)


def fill(writer: RecordWriter) -> int:
    """Run into the limit, then have it lifted."""
    number, trouble = fill_up(writer)
    print(trouble)
    print(writer.stored.inputs)
    limit(resource.RLIM_INFINITY)
    print(number)
    writer.close(PATIENCE_S)
    return 0


def stay_full(writer: RecordWriter) -> int:
    """Run into the limit and end there."""
    fill_up(writer)
    try:
        writer.close(1.0)
    except RecordError as error:
        print(writer.stored.inputs)
        print(error)
        return 1
    return 0


def fill_up(writer: RecordWriter) -> tuple[int, str]:
    """Write until the writer says that it cannot, and a little longer."""
    limit(ROOM_BYTES)
    number, trouble = 0, ""
    while not trouble:
        number += 1
        writer.put(frame_at(number))
        writer.flush(0.05)
        trouble = writer.trouble
    # What the writer tidies up when it opens the file anew must not make room again.
    limit(1)
    for _ in range(100):
        number += 1
        writer.put(frame_at(number))
    return number, trouble


def limit(most_bytes: int) -> None:
    """Let no file of this process grow past this size."""
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))


TASKS = {"run": run, "fill": fill, "stay-full": stay_full}

if __name__ == "__main__":
    opened = RecordWriter(Path(sys.argv[2]), SystemClock(), version=VERSION, zero_mono_s=0.0)
    sys.exit(TASKS[sys.argv[1]](opened))
