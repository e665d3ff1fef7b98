"""`bagvigil mark`: durations, refusals, and nobody there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.commands.durations import seconds_of
from firmware_host.errors import InputError
from firmware_host.model.commands import Answer, MarkCommand
from firmware_host.outputs.status_socket import Asked, StatusSocket
from tests.commands.spoken import Say


class Listener:
    """A daemon's ear: it keeps what it is told and answers as it was set to."""

    def __init__(self, path: Path) -> None:
        self.heard: list[object] = []
        self.answer = Answer(ok=True, text="mixed is noted.")
        self.socket = StatusSocket(path, SystemClock(), self._hear, lambda _name, _why: None)
        self.socket.start()

    def _hear(self, asked: Asked) -> bool:
        self.heard.append(asked.command)
        self.socket.answer(asked.token, self.answer)
        return True


@pytest.fixture
def daemon(here: Path) -> Iterator[Listener]:
    listener = Listener(here / "bagvigil.sock")
    yield listener
    listener.socket.close()


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90s", 90.0),
        ("90", 90.0),
        ("2m", 120.0),
        ("2m30s", 150.0),
        ("2 m 30 s", 150.0),
        ("1h", 3600.0),
        ("1h5m", 3900.0),
        ("0.5m", 30.0),
    ],
)
def test_a_duration_is_read_as_people_type_it(text: str, seconds: float) -> None:
    assert seconds_of(text) == seconds


@pytest.mark.parametrize("text", ["", "-2m", "2x", "m", "1e3", "2m1h", "nan", "inf", "２m ago"])
def test_anything_else_is_no_duration(text: str) -> None:
    with pytest.raises(InputError, match=r"is no duration\. Write it as 90s, 2m, 2m30s or 1h\."):
        seconds_of(text)


def test_a_mark_goes_to_the_socket_in_this_folder(here: Path, say: Say, daemon: Listener) -> None:
    assert here
    spoken = say("mark", "mixed", "--ago", "2m30s", "--note", "second cup")
    assert (spoken.code, spoken.out, spoken.err) == (0, "mixed: mixed is noted.\n", "")
    assert daemon.heard == [MarkCommand(name="mixed", ago_s=150.0, note="second cup")]


def test_the_socket_is_found_beside_the_bench_file(here: Path, say: Say, daemon: Listener) -> None:
    bench = here / "elsewhere" / "bench.toml"
    bench.parent.mkdir()
    bench.write_text('[bench]\nname = "b"\n[socket]\npath = "../bagvigil.sock"\n', "utf-8")
    assert say("mark", "pump_on", "--bench", bench).code == 0
    assert say("mark", "pump_off", "--socket", here / "bagvigil.sock").code == 0
    assert daemon.heard == [MarkCommand(name="pump_on"), MarkCommand(name="pump_off")]


def test_a_mark_that_the_daemon_refuses_is_a_failure(
    here: Path, say: Say, daemon: Listener
) -> None:
    assert here
    daemon.answer = Answer(ok=False, text="the resin has kicked \x1b[31malready")
    spoken = say("mark", "mixed")
    assert (spoken.code, spoken.out) == (1, "")
    assert spoken.err == "mixed: the resin has kicked [31malready\n"


def test_nobody_listening_means_try_again_later(here: Path, say: Say) -> None:
    spoken = say("mark", "mixed", "--socket", here / "absent.sock")
    assert (spoken.code, spoken.out) == (3, "")
    assert spoken.err == (
        f"no bagvigil answers at {here}/absent.sock (No such file or directory). "
        "Start bagvigil watch, or name the socket of the bench.\n"
    )


def test_abandoning_a_job_needs_its_reason(here: Path, say: Say, daemon: Listener) -> None:
    assert here
    assert say("mark", "abandoned", "--reason", "  ").code == 2
    assert daemon.heard == []
    assert say("mark", "abandoned", "--reason", "form fell over").code == 0
    assert daemon.heard == [MarkCommand(name="abandoned", note="form fell over")]


@pytest.mark.parametrize(
    "words",
    [
        ("kicked",),
        ("mixed", "--ago", "yesterday"),
        ("mixed", "--ago", "500h"),
        ("mixed", "--bench", "absent.toml"),
        ("mixed", "--socket", "x" * 200),
        ("mixed", "--note", "n" * 100_000),
        (),
    ],
)
def test_nonsense_is_refused_in_words(
    here: Path, say: Say, daemon: Listener, words: tuple[str, ...]
) -> None:
    assert here
    spoken = say("mark", *words)
    assert spoken.code in (1, 2, 3)
    assert spoken.err.strip()
    assert daemon.heard == []
