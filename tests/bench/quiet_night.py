"""A quiet night: kicked, the pump cycles, the barometer falls, the shop cools; nobody is woken.

Nine hours through the real daemon on a fast clock, with a noisy gauge and one drop-out of twenty
seconds. No alarm may sound and no phone may be told; the page in the morning must say how deep the
vacuum was, for how long, and that one channel was away for a moment.
"""

from __future__ import annotations

import re
import signal
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from firmware_host.model.events import (
    AlarmChanged,
    Event,
    Phase,
    PhaseEntered,
    SensorFaultChanged,
)
from firmware_host.model.wire import HEARD_PRIORITIES
from firmware_host.outputs.record_reader import open_record
from tests.bench.counts import Count, Counted
from tests.system.room import Room
from tests.system.scenarios import event, mark, step

NAME = "quiet_night"
FULL_RATE, SAMPLE_RATE = 60.0, 120.0
PERIOD_S = 1.0
DROP_OUT_S = 20.0
NOISE_PA = 0.15 * 3386.389 / 3.0
"""0.15 inHg either way, three standard deviations. 1 inHg is 3386.389 Pa (NIST SP 811, B.8)."""
END_S = 300.0
PATIENCE_S = 300.0
JOB = """\
[job]
part = "drone fairing"
work_time_min = 15.0
initiator_percent = 1.5
[resin]
family = "polyester"
[bag]
free_volume_l = 3.0
pump_cycle_mbar = [40.0, 80.0]
[limits]
latest_gel_min = 150.0
highest_temperature_c = 90.0
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Night:
    """How long it is, and what changes in it."""

    kicked_by_s: float
    """The person looked and saw it gelled."""
    hours: float
    first_c: float
    last_c: float
    fall_hpa: float = 6.0

    @property
    def length_s(self) -> float:
        """The whole scenario."""
        return self.kicked_by_s + self.hours * 3600.0 + END_S

    def scenario(self, seed: int) -> str:
        """Write it as a scenario file."""
        whole_h = self.length_s / 3600.0
        night_s = self.kicked_by_s + self.hours * 3600.0
        return "".join(
            [
                f'[scenario]\nname = "quiet-night"\nseed = {seed}\nabout = "A quiet night."\n',
                f'length_s = {self.length_s}\njob = "job"\n',
                f"[plant.shop]\ntemperature_c = {self.first_c}\n",
                f"drift_c_per_h = {(self.last_c - self.first_c) / whole_h}\n",
                f"pressure_drift_hpa_per_h = {-self.fall_hpa / whole_h}\n",
                f"[sensors]\ngauge_noise_pa = {NOISE_PA}\n",
                step(60.0, "mixed", "mix"),
                step(600.0, "bag_closed"),
                step(640.0, "pump_on"),
                step(1000.0, "valve_shut"),
                step(1300.0, "valve_open"),
                event(1400.0, "pump_cycles", "low_mbar = 40.0\nhigh_mbar = 80.0"),
                mark(self.kicked_by_s, "gel_seen"),
                event(
                    self.kicked_by_s + self.hours * 1800.0,
                    "fault",
                    f'channel = "bag"\nkind = "off"\nfor_s = {DROP_OUT_S}',
                ),
                event(night_s, "pump_off"),
                step(night_s + 5.0, "vacuum_released", "release"),
                mark(night_s + 200.0, "demoulded"),
            ]
        )


FULL_NIGHT = Night(kicked_by_s=6300.0, hours=9.0, first_c=19.0, last_c=12.0)
SHORT_NIGHT = Night(kicked_by_s=3300.0, hours=0.4, first_c=26.0, last_c=24.0, fall_hpa=0.6)


def run(seed: int, *, full: bool) -> Counted:
    """Watch the night through, then read what the morning finds."""
    night = FULL_NIGHT if full else SHORT_NIGHT
    with tempfile.TemporaryDirectory(prefix="bv-") as base:
        room = Room(Path(base))
        try:
            events, page, last_s = _watch(room, night, seed, FULL_RATE if full else SAMPLE_RATE)
        finally:
            room.close()
    kicked_s = next(
        (
            one.time_s
            for one in events
            if isinstance(one, PhaseEntered) and one.phase is Phase.KICKED
        ),
        last_s,
    )
    raised = [one for one in events if isinstance(one, AlarmChanged) and one.state == "active"]
    heard = [one for one in raised if one.priority in HEARD_PRIORITIES and one.time_s >= kicked_s]
    faults = [one for one in events if isinstance(one, SensorFaultChanged)]
    drops = {one.channel for one in faults if one.time_s >= kicked_s}
    words = re.sub(r"<[^>]*>", " ", page)
    return Counted(
        name=NAME,
        counts=(
            Count(what="hours after the kick", value=(last_s - kicked_s) / 3600.0, at_least=0.3),
            Count(what="alarms that sound or reach a phone", value=len(heard), at_most=0),
            Count(what="drop-outs told", value=len(drops & {"bag"}), at_least=1),
            Count(what="the page tells the lowest", value="lowest" in words, at_least=1),
            Count(what="the page tells the drop-out", value=bool(_drop_out(words)), at_least=1),
        ),
        lines=_lines(raised, words),
    )


def _watch(room: Room, night: Night, seed: int, rate: float) -> tuple[Sequence[Event], str, float]:
    bench = room.simulate(night.scenario(seed), rate=rate, period_s=PERIOD_S, job=JOB)
    daemon = room.watch("--clock-rate", rate)
    folder = room.job_folder(daemon)
    assert bench.wait(night.length_s / rate + PATIENCE_S) == 0, bench.err
    daemon.signal(signal.SIGTERM)
    assert daemon.wait(PATIENCE_S) == 0, daemon.err  # it judges what it was sent before it ends
    told = room.command("report", folder)
    assert told.returncode == 0, told.stderr
    with open_record(folder) as record:
        events = tuple(record.events())
        (last,) = [record.last_row("frame_0")]
        assert last is not None
        last_s = record.decode_input(last).given.time_s
    return events, (folder / "report.html").read_text(encoding="utf-8"), last_s


def _drop_out(words: str) -> list[str]:
    return re.findall(
        r"[^.]*\bbag\b[^.]*(?:silent|missing|dropout|not read|away|nothing)[^.]*", words
    )


def _lines(raised: Sequence[AlarmChanged], words: str) -> tuple[str, ...]:
    told = [
        f"{one.time_s:>9.0f} s {one.priority:<7}{one.name} {one.channel or ''}" for one in raised
    ]
    lowest = re.findall(r"Below [^.]*lowest [^.]*", words)
    return (*told, *(" ".join(one.split()) for one in (*lowest[:1], *_drop_out(words)[:1])))
