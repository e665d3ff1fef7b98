"""A bench of three channels and the lines that its board says."""

from __future__ import annotations

from dataclasses import replace

from firmware_host.config.schema import BenchChannel, ChannelKind, Port, PortKind
from firmware_host.inputs.port_channels import PortChannels
from hardware.frames import encode_hello, encode_sample
from hardware.messages import PROTOCOL, Hello

PORT = Port(name="board", kind=PortKind.BV1, device="/dev/absent")
CHANNELS = (
    BenchChannel(
        name="bag",
        port="board",
        index=0,
        kind=ChannelKind.ADC16S,
        volts_per_count=187.5e-6,
        supply_index=2,
    ),
    BenchChannel(name="part1", port="board", index=1, kind=ChannelKind.TC31855),
)
KINDS = ("adc16s", "tc31855", "adc16s")
HELLO = Hello(proto=PROTOCOL, firmware="1.2", boot_id="0000AB01", uid="B7", kinds=KINDS)

SUPPLY = 26667
"""Count of 5 V at 187.5 uV a count."""
HALF_BAR = "13333"
"""Count of half the supply: (0.5 - 0.1) / 0.8 of 100000 Pa = 50000 Pa."""
COUPLE_25C = "01901900"
"""MAX31855 word of 25 degC at the couple and at the cold junction (data sheet 19-5793, table 2)."""
RAWS = (HALF_BAR, COUPLE_25C, str(SUPPLY))


def port_channels(*channels: BenchChannel, period_s: float = 0.5) -> PortChannels:
    """The port's channels; the two of the bench when none are given."""
    return PortChannels(PORT, channels or CHANNELS, period_s)


def sample(seq: int, t_ms: int, raws: tuple[str, ...] = RAWS) -> bytes:
    """A sample line."""
    return encode_sample(seq, t_ms, raws)


def hello(boot_id: str = HELLO.boot_id, kinds: tuple[str, ...] = KINDS, uid: str = "B7") -> bytes:
    """A hello line."""
    return encode_hello(replace(HELLO, boot_id=boot_id, kinds=kinds, uid=uid))
