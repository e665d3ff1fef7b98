"""One channel: its newest believed reading, its block mean, and whether it still speaks.

Pure and cheap: arrival of a reading is a handful of plain operations. A channel blanks after
max(3 periods, 1 s) without a believed reading and is at fault after max(10 periods, 5 s); a
converter's own fault word is believed after two frames in a row.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.channels import Channel
from firmware_host.model.samples import Reason
from firmware_host.model.snapshot import ChannelView

BAD_IN_A_ROW = 2
BLANK_PERIODS, BLANK_LEAST_S = 3.0, 1.0
FAULT_PERIODS, FAULT_LEAST_S = 10.0, 5.0
RECOVERED_S = 5.0
"""Believed readings must have come for this long before a fault is over."""

KIND_OF_REASON = {
    Reason.NOT_READ: "silent",
    Reason.DRIVER: "driver_error",
    Reason.OPEN: "open",
    Reason.SHORT: "short",
    Reason.OUT_OF_RANGE: "out_of_range",
    Reason.DEAD_BUS: "dead_bus",
    Reason.UNREADABLE: "unreadable",
}


@dataclass(frozen=True, slots=True)
class FaultFound:
    """A fault that began, or ended."""

    kind: str
    start_s: float
    end_s: float | None


class ChannelWatch:
    """State of one channel."""

    __slots__ = (
        "_bad_reason",
        "_bad_run",
        "_bad_since_s",
        "_block_n",
        "_block_sum",
        "_good_since_s",
        "channel",
        "fault",
        "heard_s",
        "value",
    )

    def __init__(self, channel: Channel, start_s: float) -> None:
        self.channel = channel
        self.value: float | None = None
        self.heard_s = start_s
        """When it was last believed; the start of watching before that."""
        self.fault: FaultFound | None = None
        self._bad_reason: Reason | None = None
        self._bad_run = 0
        self._bad_since_s = start_s
        self._good_since_s: float | None = None
        self._block_sum = 0.0
        self._block_n = 0

    def take(self, time_s: float, value: float | None, reason: Reason | None) -> None:
        """Take one cell of a frame."""
        if value is not None:
            self.value = value
            self.heard_s = time_s
            self._block_sum += value
            self._block_n += 1
            if self._bad_run or self._good_since_s is None:
                self._good_since_s = time_s
                self._bad_run = 0
                self._bad_reason = None
            return
        self._bad_run += 1
        if reason is not Reason.NOT_READ and self._bad_reason is not reason:
            self._bad_reason = reason
            self._bad_since_s = time_s
            self._bad_run = 1

    def look(self, now_s: float, period_s: float) -> FaultFound | None:
        """Judge the channel on the time grid; returns a fault that just began or just ended."""
        if self.fault is not None:
            return self._may_recover(now_s, period_s)
        told = self._bad_reason is not None and self._bad_run >= BAD_IN_A_ROW
        quiet_s = now_s - self.heard_s
        if told and self._bad_reason is not None:
            self.fault = FaultFound(KIND_OF_REASON[self._bad_reason], self._bad_since_s, None)
        elif quiet_s > max(FAULT_PERIODS * period_s, FAULT_LEAST_S):
            self.fault = FaultFound("silent", self.heard_s, None)
        if self.fault is not None:
            self._good_since_s = None
        return self.fault

    def believed(self, now_s: float, period_s: float) -> float | None:
        """Give the newest reading, or None once it is too old or the channel is at fault."""
        if self.fault is not None or self.value is None:
            return None
        if now_s - self.heard_s > max(BLANK_PERIODS * period_s, BLANK_LEAST_S):
            return None
        return self.value

    def close_block(self) -> float | None:
        """Give the mean of the believed readings since the last call, and begin anew."""
        mean = self._block_sum / self._block_n if self._block_n else None
        self._block_sum, self._block_n = 0.0, 0
        return mean if self.fault is None else None

    def forgive(self, now_s: float) -> None:
        """Start the silence clock anew: it was the watcher who was away."""
        self.heard_s = max(self.heard_s, now_s)
        self.value = None

    def view(self, now_s: float, period_s: float) -> ChannelView:
        """Show the channel as it stands."""
        value = self.believed(now_s, period_s)
        word = self.fault.kind if self.fault else (None if value is not None else "silent")
        age_s = now_s - self.heard_s if self.value is not None else None
        return ChannelView(name=self.channel.name, value=value, age_s=age_s, fault=word)

    def _may_recover(self, now_s: float, period_s: float) -> FaultFound | None:
        if self.fault is None or self._good_since_s is None or self._bad_run:
            return None
        fresh = now_s - self.heard_s <= max(BLANK_PERIODS * period_s, BLANK_LEAST_S)
        if not fresh or now_s - self._good_since_s < RECOVERED_S:
            return None
        over = FaultFound(self.fault.kind, self.fault.start_s, self._good_since_s)
        self.fault = None
        return over
