"""A writer with its phone in a process of its own, for the test that kills it.

Records alarms that count on from what the record holds, up to the number given, tells them and
ends cleanly.
"""

from __future__ import annotations

import sys
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_resume import resume
from tests.outputs.mqtt_parts import Told, make_phone, put_alarms
from tests.outputs.record_parts import PATIENCE_S, VERSION


def main(place: Path, folder: Path, port: int, last: int) -> None:
    """Go on with the folder's alarms."""
    clock = SystemClock()
    phone = make_phone(place, folder, clock, Told(), port=port)
    writer = RecordWriter(
        folder, clock, version=VERSION, zero_mono_s=clock.monotonic_s(), events_stored=phone.wake
    )
    phone.start()
    for number in range(resume(folder).events + 1, last + 1):
        put_alarms(writer, number, number)
        writer.flush(PATIENCE_S)
    writer.close(PATIENCE_S)
    phone.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
