"""How far long work is: one line of a terminal, once the work has taken longer than a moment.

Nothing anywhere else: a file or a pipe is not told. The line is ended whatever ends the work, so
that what is said next stands on a line of its own.
"""

from __future__ import annotations

from types import TracebackType
from typing import Self, TextIO

from firmware_host.clock import Clock

QUIET_S = 2.0
"""Work that is done by then needs no line."""


class ProgressLine:
    """A share that is done; use it in a `with`, and call it with 0 to 1."""

    def __init__(self, what: str, clock: Clock, stream: TextIO) -> None:
        """Begin now; `what` is in the words of the person who waits."""
        self._what = what
        self._clock = clock
        self._stream = stream
        self._is_live = stream.isatty()
        self._begun_s = clock.monotonic_s()
        self._shown = -1

    def __call__(self, share: float) -> None:
        """Show the share where it moved by a whole percent."""
        percent = int(share * 100.0)
        if not self._is_live or percent == self._shown:
            return
        if self._clock.monotonic_s() - self._begun_s < QUIET_S:
            return
        self._shown = percent
        self._stream.write(f"\r{self._what} {percent:3d} %")
        self._stream.flush()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._shown >= 0:
            self._stream.write("\n")
            self._stream.flush()
