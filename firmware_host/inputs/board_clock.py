"""Board time to job time by the smallest delay seen lately.

A reading reaches us some delay after the board stamped it; the delay jitters, stalls and is never
negative. So the smallest `arrival - board` of the last minutes says how the clocks stand, and a
stall of the host cannot move a sample in time. The window slides because a crystal is off by 50 to
200 ppm, which over a job adds up to seconds.

Pure: whole milliseconds in, whole milliseconds out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

BUCKET_MS = 120_000
"""The smallest delay is taken over this bucket and the one before it."""
SLEW = 1e-3
"""Correction per board time: five times the worst crystal, and too little to bend a slope."""
STEP_MS = 500
"""An error above this is no drift: forward it is taken at once, backward at half speed."""
JUMP_MS = 60_000
"""Board and host disagree by this much from one reading to the next: the mapping starts anew."""


class BoardClock:
    """The mapping of one port; one boot of the board at a time."""

    def __init__(self, *, step_ms: int = STEP_MS, jump_ms: int = JUMP_MS) -> None:
        """Begin without a mapping; a fast clock needs a larger step and jump."""
        self._step_ms = step_ms
        self._jump_ms = jump_ms
        self._last_ms: int | None = None
        self._last_board_ms = 0
        self.restart()

    def restart(self) -> None:
        """Forget the mapping (the board was restarted); mapped time still never runs backwards."""
        self._offset_ms: float | None = None
        self._bucket_began_ms: int | None = None
        self._last_arrival_ms = 0
        self._smallest: float | None = None
        self._smallest_before: float | None = None

    def times_ms(self, boards_ms: Sequence[int], arrival_ms: int) -> tuple[int, ...]:
        """Map the readings that arrived together.

        `boards_ms` rise strictly. The newest of a backlog was delayed least, so all of it is seen
        before the first is mapped.

        >>> BoardClock().times_ms([1000, 1500, 2000], 9000)
        (8000, 8500, 9000)
        """
        times: list[int] = []
        for run in self._runs(boards_ms):
            if self._jumped(run[0], arrival_ms):
                self.restart()
            for board_ms in run:
                self._see(arrival_ms - board_ms, arrival_ms)
            times.extend(self._map(board_ms) for board_ms in run)
            self._last_arrival_ms = arrival_ms
        return tuple(times)

    def _runs(self, boards_ms: Sequence[int]) -> Iterator[Sequence[int]]:
        start = 0
        for index in range(1, len(boards_ms) + 1):
            at_end = index == len(boards_ms)
            if at_end or boards_ms[index] - boards_ms[index - 1] > self._jump_ms:
                yield boards_ms[start:index]
                start = index

    def _jumped(self, board_ms: int, arrival_ms: int) -> bool:
        if self._offset_ms is None:
            return False
        board_step = board_ms - self._last_board_ms
        return abs(board_step - (arrival_ms - self._last_arrival_ms)) > self._jump_ms

    def _see(self, delay_ms: int, arrival_ms: int) -> None:
        began = self._bucket_began_ms
        if began is None or arrival_ms - began >= BUCKET_MS:
            stale = began is None or arrival_ms - began >= 2 * BUCKET_MS
            self._smallest_before = None if stale else self._smallest
            self._smallest = None
            self._bucket_began_ms = arrival_ms
        self._smallest = delay_ms if self._smallest is None else min(self._smallest, delay_ms)

    def _map(self, board_ms: int) -> int:
        target = min(
            smallest for smallest in (self._smallest, self._smallest_before) if smallest is not None
        )
        if self._offset_ms is None:
            self._offset_ms = target
        else:
            self._offset_ms += self._correction(target, board_ms - self._last_board_ms)
        time_ms = round(board_ms + self._offset_ms)
        if self._last_ms is not None and time_ms <= self._last_ms:
            time_ms = self._last_ms + 1
            self._offset_ms = time_ms - board_ms
        self._last_ms, self._last_board_ms = time_ms, board_ms
        return time_ms

    def _correction(self, target_ms: float, board_step_ms: int) -> float:
        assert self._offset_ms is not None
        error_ms = target_ms - self._offset_ms
        if abs(error_ms) > self._step_ms:
            return max(error_ms, -board_step_ms / 2)
        most_ms = SLEW * board_step_ms
        return min(max(error_ms, -most_ms), most_ms)
