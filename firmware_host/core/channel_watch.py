"""One channel: its newest believed reading, its block mean, and whether it still speaks.

Pure and cheap: arrival of a reading is a handful of plain operations. A channel blanks after
max(3 periods, 1 s) without a reading and is at fault after max(10 periods, 5 s); a converter's own
fault word is believed after two frames in a row. Readings pass a gate against spikes, and how long
a code may stay the same is learnt from the channel's own noise. Raw readings are stored elsewhere,
whatever is believed here.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.channels.noise import NoiseScale
from firmware_host.channels.spikes import Reading, SpikeGate
from firmware_host.channels.stuck import CodeRun, longest_run
from firmware_host.model.channels import Channel, Quantity
from firmware_host.model.events import ChannelLearnt
from firmware_host.model.quality import GOOD, Grade, Quality
from firmware_host.model.samples import Reason
from firmware_host.model.snapshot import ChannelView

BAD_IN_A_ROW = 2
BLANK_PERIODS, BLANK_LEAST_S = 3.0, 1.0
FAULT_PERIODS, FAULT_LEAST_S = 10.0, 5.0
RECOVERED_S = (5.0, 60.0, 300.0)
"""Readings must have come for this long before a fault is over: the first time, the second, after.

A channel that fails again and again is one fault, not many.
"""
RECOVERED_PERIODS = 5.0
FORGET_FAULTS_S = 1800.0
MISSING_SHARE = 0.4
"""Share of missing readings, over the last thirty or so, that makes a channel unreliable."""
MISSING_GAIN = 1.0 / 30.0

NOISE_FLOOR = {Quantity.PRESSURE: 1.0, Quantity.TEMPERATURE: 0.01}
"""Pa and K; a channel quieter than this is taken to have this noise."""
LEAST_WILD = {Quantity.PRESSURE: 12_000.0, Quantity.TEMPERATURE: 20.0}
"""Pa and K; more than a pump that starts every few seconds, or a hand, can make."""
LEAST_JUMP = {Quantity.PRESSURE: 400.0, Quantity.TEMPERATURE: 3.0}
"""Pa and K; no smaller jump is a spike."""
STUCK, SPIKES, DROPOUTS, GARBAGE = "stuck", "spikes", "dropouts", "garbage"
HARMLESS = (SPIKES, DROPOUTS)
"""Faults that are told but do not blind: what the gate lets through is believed."""
MOVES_AGAIN_S = 30.0
NOISY, UNCONFIRMED, STALE = "noisy", "unconfirmed jump", "silent"

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
        "_failed_s",
        "_failures",
        "_gate",
        "_good_since_s",
        "_missing",
        "_noise",
        "_pardoned",
        "_told",
        "channel",
        "fault",
        "fresh",
        "heard_s",
        "mean",
        "run",
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
        self._noise = NoiseScale(
            NOISE_FLOOR[channel.role.quantity], LEAST_WILD[channel.role.quantity]
        )
        self._gate = SpikeGate(LEAST_JUMP[channel.role.quantity])
        self._missing = 0.0
        self._failures = 0
        self._failed_s: float | None = None
        self._pardoned = True
        """False while a witness keeps the channel accused."""
        self._told = False
        self.run = CodeRun()
        self.fresh = False
        """Whether the last block held a reading of its own."""
        self.mean: float | None = None
        """Mean of the last block, believed or not; of a slow channel its newest reading."""

    @property
    def blind(self) -> bool:
        """Whether what the channel shows is left out of every estimate."""
        return self.fault is not None and self.fault.kind not in HARMLESS

    def learnt(self, now_s: float) -> ChannelLearnt | None:
        """Tell once what the channel is like, when enough of it was read."""
        if self._told or not self._noise.known or self._noise.ordinary is None:
            return None
        self._told = True
        return ChannelLearnt(
            time_s=now_s,
            channel=self.channel.name,
            noise=self._noise.ordinary,
            step=self._noise.step,
            tells_stuck=self._noise.tells_stuck,
        )

    @property
    def noisy(self) -> bool:
        """Whether the channel is much noisier than it was."""
        return self._noise.grown

    @property
    def doubtful(self) -> bool:
        """Whether the channel is too wild to raise an alarm about the part."""
        return self.fault is not None or self._noise.grown

    def grade(self, now_s: float, period_s: float) -> Grade:
        """Say what the newest reading is worth, and why it is worth no more."""
        if self.blind and self.fault is not None:
            return Grade(Quality.BAD, self.fault.kind)
        if self._bad_run and self._bad_reason not in (None, Reason.NOT_READ):
            return Grade(Quality.BAD, KIND_OF_REASON[self._bad_reason])
        if now_s - self.heard_s > max(BLANK_PERIODS * period_s, BLANK_LEAST_S):
            return Grade(Quality.MISSING, STALE)
        if self._bad_run or self.value is None:
            return Grade(Quality.MISSING, KIND_OF_REASON[Reason.NOT_READ])
        if self._gate.waiting:
            return Grade(Quality.DOUBTFUL, UNCONFIRMED)
        if self.fault is not None:
            return Grade(Quality.DOUBTFUL, self.fault.kind)
        return Grade(Quality.DOUBTFUL, NOISY) if self._noise.grown else GOOD

    def take(
        self, time_s: float, value: float | None, reason: Reason | None
    ) -> tuple[Reading, ...]:
        """Take one cell of a frame; give the readings that may be believed now."""
        self._missing += MISSING_GAIN * ((value is None) - self._missing)
        if value is not None:
            passed = self._gate.take(time_s, value, self._noise)
            self._noise.take(value)  # afterwards: a jump must not widen its own gate
            self.run.take(time_s, value, self._noise.step or 0.0)
            self.heard_s = time_s
            for _, believed in passed:
                self.value = believed
                self._block_sum += believed
                self._block_n += 1
            if self._bad_run or self._good_since_s is None:
                self._good_since_s = time_s
                self._bad_run = 0
                self._bad_reason = None
            return () if self.blind else passed
        self._bad_run = self._bad_run + 1 if reason is self._bad_reason else 1
        if self._bad_run == 1:
            self._bad_reason = reason
            self._bad_since_s = time_s
        return ()

    def accuse(self, kind: str, since_s: float) -> FaultFound:
        """Take in that the channel's fellows speak against it."""
        self.fault = FaultFound(kind, since_s, None)
        self._note_failure(since_s)
        self._pardoned = False
        return self.fault

    def pardon(self) -> None:
        """Take in that the channel agrees with its fellows again."""
        self._pardoned = True

    def look(self, now_s: float, period_s: float) -> FaultFound | None:
        """Judge the channel on the time grid; returns a fault that just began or just ended."""
        if self.fault is not None:
            return self._may_recover(now_s, period_s)
        self.fault = self._speechless(now_s, period_s) or self._senseless(now_s)
        if self.fault is not None:
            self._note_failure(now_s)
        return self.fault

    def _speechless(self, now_s: float, period_s: float) -> FaultFound | None:
        """Find a channel that gives no reading: a fault word twice, or none for long."""
        reason = self._bad_reason
        quiet_s = now_s - self.heard_s
        if reason is not None and reason is not Reason.NOT_READ and self._bad_run >= BAD_IN_A_ROW:
            return FaultFound(KIND_OF_REASON[reason], self._bad_since_s, None)
        if quiet_s > max(FAULT_PERIODS * period_s, FAULT_LEAST_S):
            return FaultFound("silent", self.heard_s, None)
        return None

    def _senseless(self, now_s: float) -> FaultFound | None:
        """Find a channel whose readings, by themselves, cannot be what it measures."""
        if self._shows_one_code():
            return FaultFound(STUCK, self.run.since_s, None)
        if self._noise.wild:
            return FaultFound(GARBAGE, now_s, None)
        if (since_s := self._gate.spell_since(now_s)) is not None:
            return FaultFound(SPIKES, since_s, None)
        if self._missing > MISSING_SHARE:
            return FaultFound(DROPOUTS, self._bad_since_s, None)
        return None

    def _note_failure(self, now_s: float) -> None:
        self._good_since_s = None
        if self._failed_s is not None and now_s - self._failed_s > FORGET_FAULTS_S:
            self._failures = 0
        self._failures += 1
        self._failed_s = now_s

    def believed(self, now_s: float, period_s: float) -> float | None:
        """Give the newest reading, or None once it is too old or the channel is at fault."""
        if self.blind or self.value is None:
            return None
        if now_s - self.heard_s > max(BLANK_PERIODS * period_s, BLANK_LEAST_S):
            return None
        return self.value

    def close_block(self, now_s: float, period_s: float) -> None:
        """Take the mean of the readings that passed since the last call, and begin anew.

        A channel that is read more seldom than blocks close keeps its newest reading until it
        would be blank: it is slow, not silent.
        """
        self.fresh = self._block_n > 0
        if self.fresh:
            self.mean = self._block_sum / self._block_n
        elif now_s - self.heard_s > max(BLANK_PERIODS * period_s, BLANK_LEAST_S):
            self.mean = None
        else:
            self.mean = self.value
        self._block_sum, self._block_n = 0.0, 0

    def forgive(self, now_s: float) -> None:
        """Start the silence clock anew: it was the watcher who was away."""
        self.heard_s = max(self.heard_s, now_s)
        self.value = None

    def view(self, now_s: float, period_s: float) -> ChannelView:
        """Show the channel as it stands."""
        value = self.believed(now_s, period_s)
        word = self.fault.kind if self.fault else (None if value is not None else "silent")
        age_s = now_s - self.heard_s if self.value is not None else None
        grade = self.grade(now_s, period_s)
        return ChannelView(
            name=self.channel.name,
            value=value,
            age_s=age_s,
            fault=word,
            quality=grade.quality,
            why=grade.why,
        )

    def _may_recover(self, now_s: float, period_s: float) -> FaultFound | None:
        if self.fault is None or self._good_since_s is None:
            return None
        if self._bad_run and self.fault.kind not in HARMLESS:
            return None
        fresh = now_s - self.heard_s <= max(BLANK_PERIODS * period_s, BLANK_LEAST_S)
        if not fresh:
            self._good_since_s = None  # it fell silent again: the count starts afresh
            return None
        needed_s = RECOVERED_S[min(self._failures, len(RECOVERED_S)) - 1]
        needed_s = max(needed_s, RECOVERED_PERIODS * period_s)
        if now_s - self._good_since_s < needed_s or not self._cause_is_gone(now_s):
            return None
        over = FaultFound(self.fault.kind, self.fault.start_s, self._good_since_s)
        self.fault = None
        self._missing = 0.0  # what was missing has been told; it is not a second fault
        return over

    def _cause_is_gone(self, now_s: float) -> bool:
        if self.fault is None or not self._pardoned:
            return False
        if self.fault.kind == STUCK:
            moves = self.run.since_s > self.fault.start_s and not self._shows_one_code()
            return moves and now_s - self.fault.start_s >= MOVES_AGAIN_S
        if self.fault.kind == GARBAGE:
            return not self._noise.wild
        if self.fault.kind == DROPOUTS:
            return self._missing < MISSING_SHARE / 4.0
        return self.fault.kind != SPIKES or self._gate.quiet(now_s)

    def _shows_one_code(self) -> bool:
        """Tell whether equal codes have come in a row that the channel's noise forbids."""
        noise = self._noise
        if noise.ordinary is None or noise.step is None or not noise.tells_stuck:
            return False
        longest = longest_run(noise.ordinary, noise.step)
        return longest is not None and self.run.length > longest
