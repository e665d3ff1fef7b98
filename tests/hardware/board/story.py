"""One board's life, told without hardware; runs under CPython and under MicroPython alike.

Keeps to what MicroPython knows, as the firmware itself does.
"""

from hardware.board.chips import Ads1115, Bmp280, Chip, Max31855, Max31856, Max31865, Mcp3208
from hardware.board.main import started
from hardware.board.talk import Board, Pins, frame
from tests.hardware.board.fakes import (
    FakeMachine,
    FakePoll,
    FakeTime,
    ScriptedI2c,
    ScriptedSpi,
    Unplugged,
    Usb,
)

UID = "E6614C77"
BOOT_ID = "0000AB01"
TRIMMING = bytes(
    [0x70, 0x6B, 0x43, 0x67, 0x18, 0xFC, 0x7D, 0x8E, 0x43, 0xD6, 0xD0, 0x0B]
    + [0x27, 0x0B, 0x8C, 0x00, 0xF9, 0xFF, 0x8C, 0x3C, 0xF8, 0xC6, 0x70, 0x17]
)
"""Factory trimming of the barometer's worked example; sheet BST-BMP280-DS001, section 3.12."""
MEASURED = bytes([0x65, 0x5A, 0xC0, 0x7E, 0xED, 0x00])
"""Pressure 415148 and temperature 519888 of the same example, as F7h..FCh."""
BEGIN_MS = 4294966000
"""The board's milliseconds pass 2^32 in the story."""
HEARD = [
    b"",
    frame("?H"),
    b"boot noise\n" + frame("R,250") + frame("R,5"),
    b"@I*00000000\n" + frame("I")[:4],
    frame("I")[4:-1] + b"\r\n",
    frame("R,60001") + frame("R,9x") + frame("X"),
]


class ToldPins(Pins):
    """Pins whose time moves 50 ms at each look, and that keep what is sent."""

    def __init__(self) -> None:
        self.ms = BEGIN_MS
        self.hear = list(HEARD)
        self.sent: list[bytes] = []
        self.blinks = 0

    def now_ms(self) -> int:
        self.ms += 50
        return self.ms

    def heard(self) -> bytes:
        return self.hear.pop(0) if self.hear else b""

    def send(self, data: bytes) -> bool:
        self.sent.append(data)
        return len(self.sent) != 4

    def supply_mv(self) -> int:
        return 5021

    def blink(self) -> None:
        self.blinks += 1


def chips() -> list[Chip]:
    """Every kind of chip; the last three at fault."""
    linearising = [bytes(2) + b"\x03" + bytes(14), bytes(3)]
    linearising += [b"\x00\x91\x03" + bytes(10) + b"\x01\x90\x00\x00"] * 400
    element = [bytes(4) + b"\xff\xff" + bytes(3), bytes(2)] + [b"\x00\xc1\x40\x00" + bytes(5)] * 400
    room = [bytes(9), b"\x58", TRIMMING, b"", b"", b""] + [b"\x57\x10\x00" + MEASURED] * 400
    return [
        Max31855(ScriptedSpi([b"\x01\x90\x19\x00"] * 400)),
        Max31856(ScriptedSpi(linearising), "K"),
        Max31865(ScriptedSpi(element)),
        Mcp3208(ScriptedSpi([b"\xff\xe8\x00"] * 400), 3),
        Ads1115(ScriptedI2c([b"", b"\x41\x83", b"\xc1\x83", b"\xcb\xeb"] * 400), "0"),
        Bmp280(ScriptedI2c(room)),
        Mcp3208(ScriptedSpi([b"\xff\xff\xff"] * 400), 7),
        Max31855(ScriptedSpi([b"\x00\x00\x00\x00"] * 400)),
        Ads1115(Unplugged(), "1"),
    ]


def told() -> list[bytes]:
    """Every line of a board whose host asks, whose time wraps, and that is late once."""
    pins = ToldPins()
    board = Board(pins, chips(), UID, BOOT_ID, 300)
    for turn in range(260):
        board.turn()
        if turn == 20:
            pins.ms += 1000
    return pins.sent + [f"blinks {pins.blinks}".encode()]


MIXED = (("max31855", 17), ("max31856", 20, "T"), ("mcp3208", 21, 5), ("ads1115", 0x48))
"""A layout whose chips share the SPI with two modes."""
REFUSED = (
    (("max3185", 17),),
    (("max31855",),),
    (("max31855", 17), ("max31855", 99)),
    (("max31856", 17, "R"),),
    (("max31865", 17, 5),),
    (("mcp3208", 17, 8),),
    (("ads1115", 0x48, "4"),),
    (("ads1115", 0x48, "0", 5.0),),
    (("bmp280", 0x78),),
    ((),),
    tuple([("bmp280", 0x76)] * 4),
    tuple([("max31855", 17)] * 24),
)
"""Layouts that cannot be."""


def refusals() -> list[bytes]:
    """Say why each of them is refused at boot."""
    said = []
    for raws in REFUSED:
        try:
            started(FakeMachine(), FakeTime(0), FakePoll(), Usb(), BOOT_ID, raws)
        except ValueError as error:
            said.append(str(error).encode())
        else:
            said.append(b"taken")
    return said


def told_by_main(raws: object = None) -> list[bytes]:
    """Every line of the board's own `main` on fake pins, across the wrap of its ticks."""
    usb, clock = Usb(), FakeTime((1 << 30) - 1000)
    layout = [] if raws is None else [raws]
    board = started(FakeMachine(), clock, FakePoll(), usb, BOOT_ID, *layout)
    for _ in range(110):
        clock.sleep_ms(100)
        board.turn()
    return usb.sent
