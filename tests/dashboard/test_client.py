"""The client against the daemon's own server, and against servers that misbehave."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from dashboard.client import Client, NotAnsweredError, NotReachedError
from firmware_host.clock import ManualClock
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand, TrendAsk
from firmware_host.outputs.status_socket import Asked, StatusSocket
from tests.dashboard.parts import SNAPSHOT, TREND

TURN_S = 0.005


class Bench:
    """The daemon's server with a core that answers at once."""

    def __init__(self, path: Path) -> None:
        self.asked: list[Asked] = []
        self.server = StatusSocket(path, ManualClock(), self.take, lambda *_: None)
        self.server.start()

    def take(self, asked: Asked) -> bool:
        self.asked.append(asked)
        said = Answer(ok=True, text="noted")
        self.server.answer(asked.token, TREND if isinstance(asked.command, TrendAsk) else said)
        return True

    def publish(self, rows: int) -> None:
        self.server.publish(replace(SNAPSHOT, stored_rows=rows))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bench.sock"


@pytest.fixture
def bench(path: Path) -> Iterator[Bench]:
    made = Bench(path)
    yield made
    made.server.close()


@contextlib.asynccontextmanager
async def following(client: Client) -> AsyncIterator[None]:
    task = asyncio.create_task(client.run())
    try:
        yield
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


async def until(found: Callable[[], object]) -> None:
    async with asyncio.timeout(10.0):
        while not found():
            await asyncio.sleep(TURN_S)  # bounded poll of a real thread


def rows(client: Client) -> int:
    return client.heard.snapshot.stored_rows if client.heard.snapshot is not None else -1


def run(act: Callable[[], Awaitable[None]]) -> None:
    async def whole() -> None:
        await act()

    asyncio.run(whole())


def test_the_newest_snapshot_is_kept_with_its_time(bench: Bench, path: Path) -> None:
    clock = ManualClock(50.0)
    client = Client(path, clock, retry_s=TURN_S)

    async def act() -> None:
        async with following(client):
            bench.publish(1)
            await until(lambda: rows(client) == 1)
            assert client.heard.at_s == 50.0
            clock.turn(3.0)
            assert client.heard.age_s(clock.monotonic_s()) == 3.0
            bench.publish(2)
            await until(lambda: rows(client) == 2)
            assert client.heard.age_s(clock.monotonic_s()) == 0.0

    run(act)


def test_a_daemon_that_is_not_there_yet_is_found_when_it_comes(path: Path) -> None:
    client = Client(path, ManualClock(), retry_s=TURN_S)

    async def act() -> None:
        async with following(client):
            await until(lambda: client.heard.trouble)
            assert client.heard.trouble == (
                f"no bagvigil answers at {path} (No such file or directory). "
                "Start bagvigil watch, or name its socket."
            )
            bench = Bench(path)
            bench.publish(7)
            await until(lambda: rows(client) == 7)
            assert client.heard.trouble == ""
            bench.server.close()

    run(act)


def test_a_daemon_that_goes_and_comes_back_is_followed_again(path: Path) -> None:
    client = Client(path, ManualClock(), retry_s=TURN_S)

    async def act() -> None:
        async with following(client):
            first = Bench(path)
            first.publish(1)
            await until(lambda: rows(client) == 1)
            first.server.close()
            await until(lambda: client.heard.trouble)
            assert rows(client) == 1  # the last that was heard stays, with its age
            second = Bench(path)
            second.publish(2)
            await until(lambda: rows(client) == 2)
            second.server.close()

    run(act)


def test_marks_acknowledgements_and_the_trend_are_answered(bench: Bench, path: Path) -> None:
    client = Client(path, ManualClock())
    mark = MarkCommand(name="pump_on", ago_s=10.0, note="big pump")
    seen = AcknowledgeCommand(id="vacuum_lost-1", by="panel")

    async def act() -> None:
        assert await client.send(mark) == Answer(ok=True, text="noted")
        assert await client.send(seen) == Answer(ok=True, text="noted")
        assert await client.trend() == TREND

    run(act)
    assert [asked.command for asked in bench.asked] == [mark, seen, TrendAsk()]


def test_a_command_to_nobody_was_surely_not_heard(path: Path) -> None:
    async def act() -> None:
        with pytest.raises(NotReachedError, match="no bagvigil answers"):
            await Client(path, ManualClock()).send(MarkCommand(name="pump_on"))

    run(act)


@pytest.mark.parametrize(
    ("reply", "why"),
    [
        (b"", "went away"),
        (b"half a line", "went away"),
        (b'{"ok":false,"text":"32 clients are served already."}\n', "32 clients are served"),
        (b'{"schema":99}\n', "speaks another version"),
        (b"\xff\xfe\x00\n", "speaks another version"),
        (b"x" * 3_000_000, "broke off|went away"),
    ],
)
def test_nonsense_from_the_socket_is_an_error_with_words(
    path: Path, reply: bytes, why: str
) -> None:
    def serve(listener: socket.socket) -> None:
        connection, _ = listener.accept()
        with connection, contextlib.suppress(OSError):
            connection.recv(4096)
            connection.sendall(reply)

    async def act() -> None:
        with pytest.raises(NotAnsweredError, match=why):
            await Client(path, ManualClock()).trend()

    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(str(path))
        listener.listen()
        server = threading.Thread(target=serve, args=(listener,))
        server.start()
        run(act)
        server.join()
