"""The simulated microcontroller: reads the sensors on its own clock and talks the serial line.

It owns no time: the rig asks when it is due and calls it then. Its crystal is a little off, its
counters wrap as the real ones do, and a reboot gives it another boot id.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

from firmware_host.model.channels import Quantity, channel_named
from hardware import readings
from hardware.channels import AdcPressureSpec, ChannelSpec, CoupleSpec, Kind
from hardware.encoder import encode_fault, encode_raw, encode_supply
from hardware.frames import BodyReader, encode_hello, encode_reply, encode_sample, encode_status
from hardware.messages import Command, Hello, Reply, Status, read_command
from simulations.files import FULL_SCALE_PA, SPAN_FRACTION, SUPPLY_INDEX, VOLTS_PER_COUNT
from simulations.files import ZERO_FRACTION as ZERO
from simulations.sensors import PLACES, Lead, Reading

GAUGE = AdcPressureSpec(
    kind=Kind.ADC16S,
    volts_per_count=VOLTS_PER_COUNT,
    supply_index=SUPPLY_INDEX,
    zero_fraction=ZERO,
    span_fraction=SPAN_FRACTION,
    full_scale_pa=FULL_SCALE_PA,
)
COUPLE = CoupleSpec(kind=Kind.TC31855)
SPECS: dict[str, ChannelSpec] = {
    name: GAUGE if channel_named(name).role.quantity is Quantity.PRESSURE else COUPLE
    for name in PLACES
}
KINDS = (*(str(spec.kind) for spec in SPECS.values()), str(Kind.ADC16S))
LEAD_FAULTS = {
    Lead.NOT_READ: readings.Fault.NOT_READ,
    Lead.OPEN: readings.Fault.OPEN,
    Lead.SHORTED: readings.Fault.SHORT,
}
STATUS_PERIOD_S = 10.0
LEAST_PERIOD_S, MOST_PERIOD_S = 0.02, 60.0
SUPPLY_V = 5.0
SUPPLY_RIPPLE_V = 0.004
FIRMWARE = "1.0"


class Board:
    """One board, from its bytes to its clock."""

    def __init__(self, *, seed: int, period_s: float = 0.5, drift_ppm: float = 25.0) -> None:
        self.period_s = period_s
        self.overruns = 0
        """Lines that the link could not take."""
        self.blinks = 0
        self._rng = random.Random(f"{seed}:board")
        self._rate = 1.0 + drift_ppm * 1e-6
        self._heard = BodyReader()
        self._uid = f"{self._rng.getrandbits(32):08X}"
        self._supply_v = SUPPLY_V + self._rng.gauss(0.0, 0.03)
        self.boot(0.0)

    def boot(self, now_s: float) -> bytes:
        """Start anew and say hello."""
        self._boot_s = now_s
        self._boot_id = f"{self._rng.getrandbits(32):08X}"
        self._seq = self._status_seq = 0
        self.sample_due_s = now_s + self.period_s
        self.status_due_s = now_s + STATUS_PERIOD_S
        self._heard = BodyReader()
        return self.hello()

    def hello(self) -> bytes:
        """Say who it is and what its raws are."""
        return encode_hello(
            Hello(proto=1, firmware=FIRMWARE, boot_id=self._boot_id, uid=self._uid, kinds=KINDS)
        )

    def sample(self, now_s: float, read: Mapping[str, Reading], chip_k: float) -> bytes:
        """Send one reading of every channel; `chip_k` is how warm the couples' chips are."""
        supply_v = self._supply_v + self._rng.gauss(0.0, SUPPLY_RIPPLE_V)
        raws = [_raw(SPECS[name], read[name], supply_v, chip_k) for name in PLACES]
        raws.append(encode_supply(GAUGE, supply_v))
        self._seq = (self._seq + 1) % 65536
        self.sample_due_s += self.period_s / self._rate
        return encode_sample(self._seq, self._uptime_ms(now_s) % 2**32, raws)

    def status(self, now_s: float) -> bytes:
        """Send its own health."""
        self._status_seq = (self._status_seq + 1) % 65536
        self.status_due_s += STATUS_PERIOD_S / self._rate
        return encode_status(
            Status(
                seq=self._status_seq,
                uptime_s=self._uptime_ms(now_s) // 1000,
                overruns=self.overruns,
                supply_mv=round(1000.0 * self._supply_v),
            )
        )

    def hear(self, data: bytes, now_s: float) -> list[bytes]:
        """Take bytes from the host; the lines that answer them."""
        answers = []
        for body in self._heard.feed(data):
            command = read_command(body)
            if command is not None:
                answers.append(self._obey(command, now_s))
        return answers

    def _obey(self, command: Command, now_s: float) -> bytes:
        if command.name == "?H":
            return self.hello()
        if command.name == "I":
            self.blinks += 1
            return encode_reply(Reply(command="I", ok=True))
        period_s = (command.period_ms or 0) / 1000.0
        fits = LEAST_PERIOD_S <= period_s <= MOST_PERIOD_S
        if fits:
            self.period_s = period_s
            self.sample_due_s = min(self.sample_due_s, now_s + period_s)
        return encode_reply(Reply(command="R", ok=fits))

    def _uptime_ms(self, now_s: float) -> int:
        return int((now_s - self._boot_s) * self._rate * 1000.0)


def _raw(spec: ChannelSpec, reading: Reading, supply_v: float, chip_k: float) -> str:
    if reading.value is None:
        return encode_fault(spec, LEAD_FAULTS[reading.lead])
    return encode_raw(spec, reading.value, supply_v=supply_v, cold_junction_k=chip_k)
