"""Whatever a file, a person or a daemon wrote: a command's words never steer the terminal."""

from __future__ import annotations

import csv
import io
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.commands.watch import _Plain
from firmware_host.model.commands import Answer, MarkCommand
from firmware_host.outputs.status_socket import Asked, StatusSocket
from tests.commands.spoken import Say, Spoken
from tests.hostile_strings import LONE_SURROGATE, hostile_strings, steering_in

LONGEST_NOTE = 500
TEXTS = hostile_strings()
JOB = '[job]\npart = "{part}"\nwork_time_min = 20.0\n[resin]\nfamily = "polyester"\n'


class Echo:
    """A daemon that answers a mark with its own note."""

    def __init__(self, path: Path) -> None:
        self.notes: list[str] = []
        self.socket = StatusSocket(path, SystemClock(), self._hear, lambda _name, _why: None)
        self.socket.start()

    def _hear(self, asked: Asked) -> bool:
        assert isinstance(asked.command, MarkCommand)
        self.notes.append(asked.command.note)
        said = Answer(ok=len(self.notes) % 2 == 0, text=asked.command.note)
        self.socket.answer(asked.token, said)
        return True


@pytest.fixture
def daemon(here: Path) -> Iterator[Echo]:
    echo = Echo(here / "bagvigil.sock")
    yield echo
    echo.socket.close()


def hold(spoken: Spoken) -> None:
    assert spoken.code in (0, 1, 2, 3)
    assert steering_in(spoken.out + spoken.err) == []
    assert "Traceback" not in spoken.err


def test_a_note_goes_out_as_it_was_typed_and_comes_back_plain(say: Say, daemon: Echo) -> None:
    for text in TEXTS:
        spoken = say("mark", "mixed", f"--note={text}")
        hold(spoken)
        assert (spoken.out + spoken.err).count("\n") == 1
    assert daemon.notes == [text for text in TEXTS if len(text) <= LONGEST_NOTE]


def test_what_was_typed_wrongly_is_said_back_plain(here: Path, say: Say) -> None:
    assert here
    for text in (*TEXTS, LONE_SURROGATE):
        hold(say("mark", "mixed", text, "x"))
        hold(say("mark", text))


def test_names_and_marks_of_a_log_are_said_plain(here: Path, say: Say) -> None:
    for number, text in enumerate(TEXTS):
        (here / "job.toml").write_text(JOB.format(part=escaped(text)), encoding="utf-8")
        (here / "log.csv").write_bytes(log(text, in_header=number % 2 == 0))
        hold(say("replay", here / "log.csv", "--job", here / "job.toml"))


def test_names_of_files_are_said_plain(here: Path, say: Say) -> None:
    for text in (*TEXTS, LONE_SURROGATE):
        if "\x00" not in text:
            hold(say("replay", here / f"{text}.csv", "--job", here / f"{text}.toml"))
            hold(say("verify", here / text))


def test_the_daemons_log_is_plain_too() -> None:
    said = io.StringIO()
    handler = logging.StreamHandler(said)
    handler.setFormatter(_Plain("%(message)s"))
    for text in TEXTS:
        handler.emit(logging.LogRecord("x", logging.INFO, "x", 1, "port %s", (text,), None))
    assert steering_in(said.getvalue()) == []


def escaped(text: str) -> str:
    """Write any character as TOML takes it."""
    return "".join(f"\\U{ord(character):08x}" for character in text)


def log(text: str, *, in_header: bool) -> bytes:
    """A log with the text as a column's name, or as a mark and a reading."""
    held = io.StringIO(newline="")
    writer = csv.writer(held)
    writer.writerow(["time_s", "bag:mbar", text if in_header else "shop:degC", "mark"])
    writer.writerow(["0", "1000", "20", ""])
    writer.writerow(["1", "1000", "20" if in_header else text, text])
    return held.getvalue().encode()
