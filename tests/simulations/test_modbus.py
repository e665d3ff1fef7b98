"""The played gauge's frames, against values that others print."""

from __future__ import annotations

import pytest

from simulations.modbus import answer, crc16, framed


def test_the_check_sum_is_that_of_the_catalogue() -> None:
    assert crc16(b"123456789") == 0x4B37  # CRC-16/MODBUS


def word(register: int) -> bytes | None:
    return {107: b"\x02\x2b", 108: b"\x00\x00", 109: b"\x00\x64"}.get(register)


def test_three_holding_registers_are_answered_as_the_protocol_shows() -> None:
    # Application protocol V1.1b3, section 6.3: 022B 0000 0064 from register 108 on.
    request = framed(bytes.fromhex("11 03 00 6B 00 03"))
    assert answer(request, 17, word) == framed(bytes.fromhex("11 03 06 02 2B 00 00 00 64"))


@pytest.mark.parametrize(
    ("body", "reply"),
    [
        ("11 03 00 6D 00 02", "11 83 02"),  # one of two is not there
        ("11 07 00 00 00 00", "11 87 01"),  # a function that no gauge here has
    ],
)
def test_what_it_does_not_have_is_refused(body: str, reply: str) -> None:
    assert answer(framed(bytes.fromhex(body)), 17, word) == framed(bytes.fromhex(reply))


@pytest.mark.parametrize(
    "request_bytes",
    [
        framed(bytes.fromhex("12 03 00 6B 00 03")),
        bytes.fromhex("11 03 00 6B 00 03 76 88"),
        bytes.fromhex("11 03 00 6B"),
    ],
)
def test_what_is_damaged_or_for_another_is_not_answered(request_bytes: bytes) -> None:
    assert answer(request_bytes, 17, word) is None
