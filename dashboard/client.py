"""The panel's end of the daemon's socket: connects, comes back, keeps the newest, sends commands.

The daemon never waits for it, and it never waits without a time-out. Snapshots stream over one
connection; the newest replaces what nobody has looked at. A command or the trend has a connection
of its own, so that an answer is never taken for another.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Protocol, TypeVar

import msgspec

from dashboard.heard import Heard
from firmware_host.clock import Clock
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand, PliesCommand
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend

LONGEST_LINE = 1 << 20
"""Bytes; a daemon that says more in one line is none of ours."""
SILENT_S = 10.0
"""Real time without a snapshot after which the connection is given up and made anew."""
ANSWER_S = 20.0
"""Real time; longer than the daemon lets a command wait for the disk."""
RETRY_S = 1.0
OTHER_VERSION = "the daemon speaks another version. Use the same release on both sides."

Sent = MarkCommand | PliesCommand | AcknowledgeCommand
_KEYS = {MarkCommand: "mark", PliesCommand: "plies", AcknowledgeCommand: "acknowledge"}
_Reply = TypeVar("_Reply", Snapshot, Answer, Trend)


class NotReachedError(OSError):
    """Nothing was said to any daemon; it may be tried again without being said twice."""


class NotAnsweredError(OSError):
    """Something was said, and no answer came: it may or may not have been heard."""


class Link(Protocol):
    """What the panel asks of its client."""

    @property
    def heard(self) -> Heard:
        """The newest that was heard."""

    async def run(self) -> None:
        """Follow the daemon until cancelled."""

    async def send(self, command: Sent) -> Answer:
        """Say something; raises NotReachedError or NotAnsweredError."""

    async def trend(self) -> Trend:
        """Ask for the job so far; raises NotReachedError or NotAnsweredError."""


class Client:
    """See the module."""

    def __init__(self, path: Path, clock: Clock, *, retry_s: float = RETRY_S) -> None:
        self._path = path
        self._clock = clock
        self._retry_s = retry_s
        self.heard = Heard()

    async def run(self) -> None:
        """Follow the daemon until cancelled; a lost one is looked for again and again."""
        while True:
            try:
                await self._follow()
            except OSError as error:
                self._note(str(error))
            await asyncio.sleep(self._retry_s)

    async def snapshot(self) -> Snapshot:
        """Ask for the newest snapshot, once; raises NotReachedError or NotAnsweredError."""
        return await self._asked(b'{"ask":"snapshot"}\n', Snapshot)

    async def trend(self) -> Trend:
        """See `Link`."""
        return await self._asked(b'{"ask":"trend"}\n', Trend)

    async def send(self, command: Sent) -> Answer:
        """See `Link`."""
        return await self._asked(
            msgspec.json.encode({_KEYS[type(command)]: command}) + b"\n", Answer
        )

    async def _follow(self) -> None:
        async with self._connected() as (reader, writer):
            writer.write(b'{"ask":"stream"}\n')
            while True:
                snapshot = await self._hear(reader, Snapshot, SILENT_S)
                self.heard = Heard(snapshot=snapshot, at_s=self._clock.monotonic_s())

    async def _asked(self, words: bytes, kind: type[_Reply]) -> _Reply:
        async with self._connected() as (reader, writer):
            writer.write(words)
            return await self._hear(reader, kind, ANSWER_S)

    @asynccontextmanager
    async def _connected(
        self,
    ) -> AsyncIterator[tuple[asyncio.StreamReader, asyncio.StreamWriter]]:
        try:
            reader, writer = await asyncio.open_unix_connection(self._path, limit=LONGEST_LINE)
        except OSError as error:
            raise NotReachedError(
                f"no bagvigil answers at {self._path} ({error.strerror or error}). "
                "Start bagvigil watch, or name its socket."
            ) from error
        try:
            yield reader, writer
        finally:
            writer.transport.abort()

    async def _hear(
        self, reader: asyncio.StreamReader, kind: type[_Reply], within_s: float
    ) -> _Reply:
        try:
            async with asyncio.timeout(within_s):
                line = await reader.readline()
        except TimeoutError as error:
            raise NotAnsweredError(
                f"bagvigil at {self._path} says nothing for {within_s:g} s."
            ) from error
        except (OSError, ValueError) as error:
            raise NotAnsweredError(f"bagvigil at {self._path} broke off: {error}") from error
        if not line.endswith(b"\n"):
            raise NotAnsweredError(f"bagvigil at {self._path} went away.")
        return _understood(line, kind)

    def _note(self, trouble: str) -> None:
        self.heard = Heard(snapshot=self.heard.snapshot, at_s=self.heard.at_s, trouble=trouble)


def _understood(line: bytes, kind: type[_Reply]) -> _Reply:
    try:
        return msgspec.json.decode(line, type=kind)
    except msgspec.MsgspecError:
        raise NotAnsweredError(_refusal(line)) from None


def _refusal(line: bytes) -> str:
    try:
        return msgspec.json.decode(line, type=Answer).text
    except msgspec.MsgspecError:
        return OTHER_VERSION
