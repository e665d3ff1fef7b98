"""From the last byte of the sample that raises an alarm to the PUBACK of that alarm.

The core judges on whole seconds of sample time: how long an alarm waits for its on-delay and for
the grid is the alarm's business. The sample that counts is the one whose step yields the
transition; the record names it. Alarms come and go on a clock that runs `RATE` times as fast, so
that there are enough for a tail; every wait in the daemon is measured as it is, in real time, and
commits that nobody hurries are more frequent than on a real bench.
"""

from __future__ import annotations

import math
import random
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from firmware_host.clock import SystemClock
from firmware_host.errors import BusyError
from firmware_host.inputs.socket_client import ask_snapshot, send_mark
from firmware_host.model.commands import MarkCommand
from firmware_host.model.events import AlarmChanged
from firmware_host.outputs.record_reader import open_record
from tests.bench.figures import Found, Goal, Pair
from tests.bench.ptys import Wire
from tests.bench.puback_floor import BareClient, BareFile
from tests.inputs.boards import KINDS, SUPPLY, hello, sample
from tests.outputs.broker import Broker
from tests.outputs.mqtt_parts import lay_out_password
from tests.system.room import JOB, NO_PORTS, TWO_CHANNELS
from tests.waiting import until

NAME = "puback"
GOAL = Goal(ratio=5.0)
RATE = 20.0
PERIOD_S = 0.5
"""Of sample time."""
LOW_COUNT, HIGH_COUNT = 3733, 15467
"""Counts of 5 kPa and 60 kPa on a gauge of 10 to 90 % of its supply over 100 kPa."""
COUPLE_5C = "00500500"
"""MAX31855 word of 5 degC (data sheet 19-5793, table 2): past its gel a bag may lose its vacuum."""
HIGH_SAMPLES, CYCLE_SAMPLES = 10, 36
"""A loss and a return in each cycle: on-delay 1.5 s, off-delay 10 s."""
FLOOR_EVERY = 4
"""Samples between two measurements of a floor."""
WARM_SAMPLES = 120
FULL_TURNS, SAMPLE_TURNS = 6, 2
FULL_CYCLES, SAMPLE_CYCLES = 50, 8
START_S = 20.0
MQTT = """\
[mqtt]
host = "127.0.0.1"
port = {port}
user = "bench"
password_file = "mqtt.secret"
"""


class Told:
    """A daemon with a broker, and the board that the bench plays."""

    def __init__(self, folder: Path, port: int, seed: int) -> None:
        self._clock, self._chance = SystemClock(), random.Random(seed)
        self._folder = folder
        self._wire = Wire(folder / "board")
        self.written_s: list[float] = []
        """When each sample's last byte was written, by its number."""
        lay_out_password(folder)
        text = NO_PORTS.format(period_s=PERIOD_S, socket="s.sock", folder="jobs")
        text = text.replace("cold-bench", "north-bench")
        text += TWO_CHANNELS.format(device=folder / "board") + MQTT.format(port=port)
        (folder / "bench.toml").write_text(text, encoding="utf-8")
        (folder / "job.toml").write_text(JOB, encoding="utf-8")
        self._stamps = folder / "stamps"
        self._log = (folder / "daemon.log").open("wb")
        words = ("watch", "--bench", "bench.toml", "--job", "job.toml", "--clock-rate", str(RATE))
        self._daemon = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.puback_daemon", self._stamps, *words],
            cwd=folder, stdin=subprocess.DEVNULL, stdout=self._log, stderr=self._log,
        )  # fmt: skip
        self._begun_s = self._due_s = self._clock.monotonic_s()

    def settle(self) -> None:
        """Speak until the daemon has samples, say what a person says, and draw the bag down."""
        until(self._is_up, START_S)
        for name in ("mixed", "bag_closed", "pump_on"):
            assert send_mark(self._folder / "s.sock", MarkCommand(name=name)).ok
        self.send(WARM_SAMPLES, LOW_COUNT)

    def cycle(self) -> Iterator[None]:
        """Lose the vacuum and find it again; the caller has the time between two samples."""
        yield from self.speak(HIGH_SAMPLES, HIGH_COUNT)
        yield from self.speak(CYCLE_SAMPLES - HIGH_SAMPLES, LOW_COUNT)

    def speak(self, samples: int, count: int) -> Iterator[None]:
        """Send so many samples at their pace; gives the time in the middle between two."""
        for _ in range(samples):
            self._wait_until(self._due_s)
            self._due_s = max(self._due_s, self._clock.monotonic_s()) + PERIOD_S / RATE
            self._say(count)
            self._wait_until(self._due_s - 0.5 * PERIOD_S / RATE)
            yield

    def send(self, samples: int, count: int) -> None:
        """Send so many samples at their pace."""
        for _ in self.speak(samples, count):
            pass

    def delays_s(self) -> dict[int, float]:
        """Time to the PUBACK of each transition, by the number of its sample."""
        (folder,) = (self._folder / "jobs").iterdir()
        until(lambda: _made_by(folder).keys() <= self._confirmed_s().keys(), START_S)
        confirmed_s = self._confirmed_s()
        return {
            number: confirmed_s[told] - self.written_s[number]
            for told, number in _made_by(folder).items()
        }

    def close(self) -> None:
        """End the daemon."""
        self._daemon.kill()
        self._daemon.wait()
        self._wire.close()
        self._log.close()

    def _is_up(self) -> bool:
        self._wire.write(hello(kinds=(*KINDS, "adc24s")))
        self.send(4, LOW_COUNT)
        try:
            return ask_snapshot(self._folder / "s.sock").stored_rows > 10
        except BusyError:
            return False

    def _say(self, count: int) -> None:
        number = len(self.written_s)
        bag, supply = count + self._chance.randint(-4, 4), SUPPLY + self._chance.randint(-1, 1)
        raws = (str(bag), COUPLE_5C, str(supply), str(number))
        board_ms = round(1000.0 * RATE * (self._clock.monotonic_s() - self._begun_s))
        line = sample(number % 65536, board_ms, raws)
        self._wire.write(line)
        self.written_s.append(self._clock.monotonic_s())

    def _wait_until(self, due_s: float) -> None:
        self._clock.sleep(max(0.0, due_s - self._clock.monotonic_s()))

    def _confirmed_s(self) -> dict[str, float]:
        if not self._stamps.exists():
            return {}
        lines = self._stamps.read_text(encoding="ascii").splitlines()
        told = (line.split() for line in lines)
        return {name.partition(".")[2]: float(at_s) for name, at_s in told}


def _made_by(folder: Path) -> dict[str, int]:
    """Give for each transition of the vacuum's alarm the number of the sample that made it."""
    with open_record(folder) as record:
        raws = {stored.n: stored.raw for stored in record.stored_inputs() if stored.raw}
        return {
            f"{stored.event.id}.{stored.event.state}": int(raws[stored.after_input].split(",")[-1])
            for stored in record.stored_events()
            if isinstance(stored.event, AlarmChanged)
            and stored.event.name == "vacuum_lost"
            and stored.after_input in raws
        }


def p99(found_s: Sequence[float]) -> float:
    """Give the least value that 99 of 100 do not pass (nearest rank)."""
    return sorted(found_s)[math.ceil(0.99 * len(found_s)) - 1]


def run(seed: int, *, full: bool) -> Found:
    """Measure the floors in the time between the samples of the same run."""
    turns, cycles = (FULL_TURNS, FULL_CYCLES) if full else (SAMPLE_TURNS, SAMPLE_CYCLES)
    spans: list[_Span] = []
    with ExitStack() as opened:
        folder = Path(opened.enter_context(TemporaryDirectory(prefix="bv-")))
        broker = opened.enter_context(Broker(folder / "broker"))
        told = Told(folder, broker.port, seed)
        opened.callback(told.close)
        client, file = BareClient(broker.port), BareFile(folder / "floor")
        opened.callback(file.close)
        opened.callback(client.close)
        told.settle()
        for _ in range(turns):
            spans.append(_span(told, cycles, client, file))
        delays_s = told.delays_s()
    return _found(spans, delays_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """One turn."""

    first: int
    """Its first sample."""
    end: int
    publish_s: list[float]
    sync_s: list[float]

    def __contains__(self, number: int) -> bool:
        """Whether a sample is of this turn."""
        return self.first <= number < self.end


def _span(told: Told, cycles: int, client: BareClient, file: BareFile) -> _Span:
    first = len(told.written_s)
    publish_s, sync_s = [], []
    for _ in range(cycles):
        for number, _ in enumerate(told.cycle()):
            if number % FLOOR_EVERY == 0:
                publish_s.append(client.publish_s())
            elif number % FLOOR_EVERY == FLOOR_EVERY // 2:
                sync_s.append(file.sync_s())
    return _Span(first=first, end=len(told.written_s), publish_s=publish_s, sync_s=sync_s)


def _found(spans: Sequence[_Span], delays_s: Mapping[int, float]) -> Found:
    pairs = []
    for span in spans:
        ours_s = [delay_s for number, delay_s in delays_s.items() if number in span]
        assert ours_s, "no alarm came in a whole turn"
        floor_s = p99(span.publish_s) + p99(span.sync_s)
        pairs.append(Pair(ours=1000.0 * p99(ours_s), peer=1000.0 * floor_s))
    publish_s = [one for span in spans for one in span.publish_s]
    sync_s = [one for span in spans for one in span.sync_s]
    return Found(
        name=NAME,
        ours="99th percentile from the last byte of the sample to the PUBACK of its alarm, ms",
        peer="99th percentile of a bare client's publish to PUBACK, plus that of one fdatasync, ms",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(
            _line("sample to PUBACK", list(delays_s.values())),
            _line("bare publish to PUBACK", publish_s),
            _line("one fdatasync", sync_s),
        ),
    )


def _line(what: str, found_s: Sequence[float]) -> str:
    middle, far = 1000.0 * median(found_s), 1000.0 * p99(found_s)
    worst = 1000.0 * max(found_s)
    return f"{what}: {len(found_s)}, median {middle:.3g} ms, p99 {far:.3g} ms, worst {worst:.3g} ms"
