"""The bag's pressure: whether vacuum is lost, and what the drop tests say.

Pure. A test begins at `valve_shut` and ends where the pressure falls back or at `valve_open`;
it is looked at every five seconds at first and ever more rarely later, so that a valve forgotten
overnight costs no more than one opened after five minutes.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from firmware_host.model.events import LeakChecked
from firmware_host.model.snapshot import DropTestView
from firmware_host.vacuum.hinge import HingeWatch
from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.isolation import LATE_MARK_S, VALVE_BLIP_S, IsolationWindow
from firmware_host.vacuum.rise import RiseEstimate, estimate_rise
from firmware_host.vacuum.verdict import Judgement, judge

LOOK_EVERY_S = 5.0
LOOK_GROWTH = 0.02
TRIM_FROM_S = 150.0
"""A test at least this long gives up its last half minute when no fall shows where it ended."""
IN_A_ROW = 2
"""Readings above or below the limit that count; a single one is a spike."""
RECENT_KEPT = 3000
"""Readings kept for a valve mark that comes late: five minutes at 10 Hz."""
BELOW_SHARE = 0.97
"""A loss is over below this share of the limit."""


@dataclass(slots=True)
class DropTest:
    """One test and what has been said of it."""

    number: int
    window: IsolationWindow
    limit_pa_per_s: float
    hinge: HingeWatch
    judgement: Judgement = field(default_factory=Judgement)
    estimate: RiseEstimate | None = None
    next_look_s: float = 0.0
    end_s: float | None = None

    def add(self, time_s: float, pressure_pa: float, laminate_k: float | None) -> Rate | None:
        """Take a reading; gives the leak that opened just now."""
        self.window.add(time_s, pressure_pa, laminate_k)
        since_s = time_s - self.window.start_s
        if since_s < VALVE_BLIP_S or self.window.end_s is not None:
            return None
        return self.hinge.add(since_s, pressure_pa)

    def look(self, now_s: float) -> bool:
        """Judge afresh when it is time to; tells whether the verdict changed."""
        if now_s < self.next_look_s:
            return False
        elapsed_s = now_s - self.window.start_s
        self.next_look_s = now_s + max(LOOK_EVERY_S, LOOK_GROWTH * elapsed_s)
        return self._judge(now_s, None)

    def close(self, now_s: float, open_s: float | None) -> None:
        """End the test at the fall that was seen, else at `open_s`; None leaves it undecided."""
        fall_s = self.window.end_s
        if fall_s is None and open_s is None:
            self.end_s = self.window.last_s
            self.judgement = Judgement()
            return
        if fall_s is not None:
            self.end_s = fall_s if open_s is None else min(fall_s, open_s)
            trim_s = self.end_s
        else:
            self.end_s = trim_s = open_s if open_s is not None else now_s
            if self.end_s - self.window.start_s >= TRIM_FROM_S:
                trim_s = self.end_s - LATE_MARK_S
        self._judge(now_s, trim_s)
        self.judgement = judge(self.judgement, self.estimate, now_s)  # there is no later look

    def said(self, now_s: float) -> LeakChecked:
        """Put the test as it stands into an event."""
        rise = self.estimate
        return LeakChecked(
            time_s=now_s,
            number=self.number,
            start_s=self.window.start_s,
            end_s=self.end_s if self.end_s is not None else self.window.last_s,
            decided_s=self.judgement.decided_s,
            rise_pa_per_s=rise.rise_pa_per_s if rise else None,
            rise_low_pa_per_s=rise.low_pa_per_s if rise else None,
            rise_high_pa_per_s=rise.high_pa_per_s if rise else None,
            whole_rise_pa_per_s=rise.whole.rise_pa_per_s if rise else None,
            limit_pa_per_s=self.limit_pa_per_s,
            verdict=self.judgement.verdict,
            final=self.end_s is not None,
        )

    def view(self) -> DropTestView:
        """Show the test as it stands."""
        said = self.said(0.0)
        return DropTestView(
            number=said.number,
            start_s=said.start_s,
            end_s=said.end_s,
            running=self.end_s is None,
            verdict=said.verdict,
            decided_s=said.decided_s,
            rise_pa_per_s=said.rise_pa_per_s,
            rise_low_pa_per_s=said.rise_low_pa_per_s,
            rise_high_pa_per_s=said.rise_high_pa_per_s,
            limit_pa_per_s=said.limit_pa_per_s,
        )

    def _judge(self, now_s: float, trim_s: float | None) -> bool:
        span = self.window.span(trim_s)
        if span is None:
            return False
        before = self.judgement.verdict
        self.estimate = estimate_rise(span, self.limit_pa_per_s) or self.estimate
        self.judgement = judge(self.judgement, self.estimate, now_s)
        return self.judgement.verdict is not before


class BagWatch:
    """Level and tests of one bag."""

    def __init__(self, limit_pa: float, drop_limit_pa_per_s: float) -> None:
        self.limit_pa = limit_pa
        self._drop_limit = drop_limit_pa_per_s
        self.test: DropTest | None = None
        """The test that runs, or the last one."""
        self.opened: Rate | None = None
        """A leak that opened while the valve was shut, until somebody has taken note of it."""
        self.was_below = False
        self.above_since_s: float | None = None
        """Since when the bag has been above its limit, after it was once below."""
        self.below_again_s: float | None = None
        self._run_above = False
        self._run_since_s = 0.0
        self._run = 0
        self._tests = 0
        self._recent: deque[tuple[float, float, float | None]] = deque(maxlen=RECENT_KEPT)

    def take(self, time_s: float, pressure_pa: float, laminate_k: float | None) -> None:
        """Take one believed reading of the bag."""
        self._level(time_s, pressure_pa)
        self._recent.append((time_s, pressure_pa, laminate_k))
        if self.test is not None and self.test.end_s is None:
            self.opened = self.test.add(time_s, pressure_pa, laminate_k) or self.opened

    @property
    def newest_pa(self) -> float | None:
        """The newest believed reading, however old; None where there is none."""
        return self._recent[-1][1] if self._recent else None

    def rearm(self) -> None:
        """Forget that the bag was ever below: it was opened on purpose."""
        self.was_below = False
        self.above_since_s = self.below_again_s = None
        self._run = 0

    def shut(self, time_s: float, now_s: float) -> list[LeakChecked]:
        """Begin a test; one that still runs ends here."""
        said = self._close(now_s, time_s)
        self._tests += 1
        window = IsolationWindow(time_s)
        hinge = HingeWatch(self._drop_limit, window.noise)
        self.test = DropTest(self._tests, window, self._drop_limit, hinge)
        self.opened = None
        self.test.next_look_s = time_s + 3.0 * LOOK_EVERY_S
        for reading in self._recent:
            if reading[0] >= time_s:
                self.opened = self.test.add(*reading) or self.opened
            elif reading[0] >= time_s - LATE_MARK_S:
                self.test.window.before(reading[0], reading[1])
        return said

    def open(self, time_s: float, now_s: float) -> list[LeakChecked]:
        """End the test that runs; a valve opened without one says nothing."""
        return self._close(now_s, time_s)

    def look(self, now_s: float) -> list[LeakChecked]:
        """Judge the running test; one whose pressure fell back has ended by itself."""
        test = self.test
        if test is None or test.end_s is not None:
            return []
        if test.window.end_s is not None:
            return self._close(now_s, None)
        return [test.said(now_s)] if test.look(now_s) else []

    def finish(self, now_s: float) -> list[LeakChecked]:
        """Say the last word on a test that nobody ended."""
        return self._close(now_s, None)

    def _close(self, now_s: float, open_s: float | None) -> list[LeakChecked]:
        test = self.test
        if test is None or test.end_s is not None:
            return []
        test.close(now_s, open_s)
        return [test.said(now_s)]

    def _level(self, time_s: float, pressure_pa: float) -> None:
        """Follow the level; one reading alone, above or below, is a spike and moves nothing."""
        above = pressure_pa > self.limit_pa
        if self.above_since_s is not None:
            above = pressure_pa > BELOW_SHARE * self.limit_pa
        if above is not self._run_above:
            self._run_above, self._run_since_s, self._run = above, time_s, 0
        self._run += 1
        if self._run < IN_A_ROW:
            return
        if not above:
            self.was_below = True
            if self.above_since_s is not None:
                self.above_since_s, self.below_again_s = None, self._run_since_s
        elif self.was_below and self.above_since_s is None:
            self.above_since_s, self.below_again_s = self._run_since_s, None
