"""The other end of a Modbus line: frames and their check sum, and a gauge that answers them.

Modbus over serial line V1.02, section 2.5.1 and 6.2.2; application protocol V1.1b3, section 6.
"""

from __future__ import annotations

from collections.abc import Callable

READ_HOLDING, READ_INPUT = 3, 4
ILLEGAL_FUNCTION, ILLEGAL_ADDRESS = 1, 2
REQUEST_BYTES = 8
Registers = Callable[[int], bytes | None]
"""Two bytes of a register by its number; None where there is none."""


def crc16(data: bytes) -> int:
    """Return the check sum of a frame: polynomial A001h, begun with FFFFh.

    >>> f"{crc16(b'123456789'):04X}"
    '4B37'
    """
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return crc


def framed(body: bytes) -> bytes:
    """Put the check sum behind a body, low byte first.

    >>> framed(bytes.fromhex("11 03 00 6B 00 03")).hex(" ")
    '11 03 00 6b 00 03 76 87'
    """
    return body + crc16(body).to_bytes(2, "little")


def answer(request: bytes, unit: int, registers: Registers) -> bytes | None:
    """Answer a request as a gauge does; None to one that is damaged or meant for another."""
    if len(request) != REQUEST_BYTES or framed(request[:-2]) != request or request[0] != unit:
        return None
    function = request[1]
    if function not in (READ_HOLDING, READ_INPUT):
        return framed(bytes((unit, function | 0x80, ILLEGAL_FUNCTION)))
    start, count = int.from_bytes(request[2:4], "big"), int.from_bytes(request[4:6], "big")
    words = [registers(start + number) for number in range(count)]
    if any(word is None for word in words):
        return framed(bytes((unit, function | 0x80, ILLEGAL_ADDRESS)))
    data = b"".join(word for word in words if word is not None)
    return framed(bytes((unit, function, len(data))) + data)
