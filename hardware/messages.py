"""What the lines between board and host say: their fields, checked one by one.

Pure. A body that is not exactly of its kind is None, never a guess; building a body that its own
reader would not accept is a ValueError.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

PROTOCOL = 1
"""The `<proto>` of a hello that this code speaks."""
U16_MAX = 0xFFFF
U32_MAX = 0xFFFFFFFF
_HEX_DIGITS = frozenset("0123456789ABCDEFabcdef")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hello:
    """Sent at boot and when asked: who the board is and what its raws are."""

    proto: int
    firmware: str
    boot_id: str
    """8 hex digits, upper case; another one is a restart."""
    uid: str
    kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleLine:
    """One reading of every channel, still as the chips' own words."""

    seq: int
    """Counts sample lines, 16 bit."""
    t_ms: int
    """Since boot, 32 bit."""
    raws: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """The board's own health, every 10 s."""

    seq: int
    """Counts status lines, 16 bit; not the samples' count."""
    uptime_s: int
    overruns: int
    supply_mv: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """The board's answer to a command."""

    command: str
    ok: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """What the host asks of a board: `?H`, `R` with a period, or `I`."""

    name: str
    period_ms: int | None = None


Message = Hello | SampleLine | Status | Reply


def read_message(body: str) -> Message | None:
    """Read what a board said; None when it is of no kind, or not well formed.

    >>> read_message("S,7,1500,32768,-")
    SampleLine(seq=7, t_ms=1500, raws=('32768', '-'))
    """
    fields = body.split(",")
    reader = _READERS.get(fields[0])
    return None if reader is None else reader(fields)


def is_from_a_board(body: str) -> bool:
    """Whether a body claims to be one of a board's kinds, well formed or not."""
    return body.split(",", 1)[0] in _READERS


def read_command(body: str) -> Command | None:
    """Read what the host said; the board's side of the line.

    >>> read_command("R,500")
    Command(name='R', period_ms=500)
    """
    name, comma, period = body.partition(",")
    if name == "R":
        period_ms = _number(period, U32_MAX)
        return Command(name="R", period_ms=period_ms) if period_ms else None
    return Command(name=name) if name in ("?H", "I") and not comma else None


def sample_body(seq: int, t_ms: int, raws: Sequence[str]) -> str:
    """Write a sample line's body."""
    return _checked(f"S,{seq},{t_ms},{','.join(raws)}", len(raws) + 3)


def hello_body(hello: Hello) -> str:
    """Write a hello's body."""
    start = f"H,{hello.proto},{hello.firmware},{hello.boot_id},{hello.uid},{len(hello.kinds)}"
    return _checked(",".join((start, *hello.kinds)), len(hello.kinds) + 6)


def status_body(status: Status) -> str:
    """Write a status line's body."""
    numbers = (status.seq, status.uptime_s, status.overruns, status.supply_mv)
    return _checked("Z," + ",".join(map(str, numbers)), 5)


def reply_body(reply: Reply) -> str:
    """Write an answer's body."""
    return _checked(f"A,{reply.command},{int(reply.ok)}", reply.command.count(",") + 3)


def _checked(body: str, fields: int) -> str:
    """Refuse a body that a reader would not take back, or would split in another way."""
    if read_message(body) is None or body.count(",") + 1 != fields:
        raise ValueError(f"line body {body!r} is not well formed; no reader would accept it")
    return body


def _sample(fields: list[str]) -> SampleLine | None:
    if len(fields) < 4:
        return None
    seq, t_ms = _number(fields[1], U16_MAX), _number(fields[2], U32_MAX)
    if seq is None or t_ms is None:
        return None
    return SampleLine(seq=seq, t_ms=t_ms, raws=tuple(fields[3:]))


def _hello(fields: list[str]) -> Hello | None:
    if len(fields) < 6 or not all(fields):
        return None
    proto, count = _number(fields[1], U16_MAX), _number(fields[5], U16_MAX)
    boot_id, kinds = fields[3], tuple(fields[6:])
    if proto is None or count != len(kinds):
        return None
    if len(boot_id) != 8 or not _HEX_DIGITS.issuperset(boot_id):
        return None
    return Hello(
        proto=proto, firmware=fields[2], boot_id=boot_id.upper(), uid=fields[4], kinds=kinds
    )


def _status(fields: list[str]) -> Status | None:
    if len(fields) != 5:
        return None
    seq = _number(fields[1], U16_MAX)
    uptime_s, overruns, supply_mv = (_number(field, U32_MAX) for field in fields[2:])
    if seq is None or uptime_s is None or overruns is None or supply_mv is None:
        return None
    return Status(seq=seq, uptime_s=uptime_s, overruns=overruns, supply_mv=supply_mv)


def _reply(fields: list[str]) -> Reply | None:
    command = ",".join(fields[1:-1])
    if not command or fields[-1] not in ("0", "1"):
        return None
    return Reply(command=command, ok=fields[-1] == "1")


def _number(text: str, most: int) -> int | None:
    """Read an unsigned decimal number; None for anything else."""
    if not (text.isdecimal() and text.isascii()) or len(text) > 10:
        return None
    number = int(text)
    return number if number <= most else None


_READERS: dict[str, Callable[[list[str]], Message | None]] = {
    "S": _sample,
    "H": _hello,
    "Z": _status,
    "A": _reply,
}
