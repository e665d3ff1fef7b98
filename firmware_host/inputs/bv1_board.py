"""What the bytes of one board mean, from opening to opening: frames on the job's time line.

No thread and no port here: bytes and arrival times in, messages out. A sample is used once; a
duplicate or an old one is dropped, a missing one is counted, and a board that began anew is
followed as soon as it says so - or, should its hello be lost, once ten lines in a row say so.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass

from firmware_host.inputs.board_clock import BoardClock
from firmware_host.inputs.line_care import LineCare
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.inputs.port_channels import PortChannels
from firmware_host.model.samples import LinkChanged
from hardware.frames import FrameReader, encode_command
from hardware.messages import PROTOCOL, Hello, SampleLine
from hardware.sequence import Order, SequenceCheck, TimeUnwrap

SILENT_PERIODS = 10
LEAST_SILENT_MS = 5000
"""A port from which nothing good came for this long, or ten periods, is told as lost."""
ASK_EVERY_MS = 2000
"""Between questions to a board that has not said who it is."""
COUNTS_EVERY_MS = 1000
UNHEARD_RESTART = 10
"""Old lines in a row: being blind for half the counter's range would be worse than believing."""


@dataclass(slots=True)
class _Counts:
    """What is counted line by line; told once a second as `PortCounts`."""

    frames: int = 0
    damaged: int = 0
    lost: int = 0
    duplicates: int = 0
    old: int = 0
    restarts: int = 0


class Bv1Board:
    """One port's talk with its board."""

    def __init__(
        self, number: int, channels: PortChannels, clock: BoardClock, begin_ms: int, rate: float
    ) -> None:
        """Begin before anything was heard.

        `number` is the group's; samples from before `begin_ms` belong to no watch of ours; `rate`
        is the clock's, so that time-outs leave the real world half a second.
        """
        self._number = number
        self._channels = channels
        self._clock = clock
        self._begin_ms = begin_ms
        least_ms = 500.0 * rate
        period_ms = 1000.0 * (channels.group.period_s or 0.0)
        self._silent_ms = max(SILENT_PERIODS * period_ms, LEAST_SILENT_MS, least_ms)
        self._ask_ms = max(ASK_EVERY_MS, least_ms)
        self._counts_ms = max(COUNTS_EVERY_MS, least_ms)
        self._sequence, self._unwrap = SequenceCheck(), TimeUnwrap()
        self._board_ms: int | None = None
        self._counts, self._told_counts = _Counts(), PortCounts(group=number)
        self._damaged_before = 0
        self._counts_told_ms = begin_ms
        self._care = LineCare(channels.group.period_s, begin_ms)
        self._hello: Hello | None = None
        self._link: LinkChanged | None = None
        self._said = ""
        """What was last said of the link, without its trouble."""
        self.opened(begin_ms)

    @property
    def name(self) -> str:
        """The port's name in the bench file."""
        return self._channels.group.name

    def opened(self, now_ms: int) -> None:
        """Begin to listen at a port that is opened now: half a line may come first."""
        self._damaged_before = self._counts.damaged
        self._reader = FrameReader()
        self._joined = self._heard_any = self._just_greeted = False
        self._heard_ms = now_ms
        self._hello_due = True
        self._asked_ms: int | None = None
        self._orders: list[bytes] = []
        self._stale_in_a_row = 0

    @property
    def heard_since_opening(self) -> bool:
        """Whether the board has said anything good since the port was opened."""
        return self._heard_any

    def silence_ms(self, now_ms: int) -> int:
        """How long nothing good has come."""
        return now_ms - self._heard_ms

    def feed(self, data: bytes, arrival_ms: int) -> list[PortMessage]:
        """Take bytes that arrived together, or none; return what they tell."""
        told: list[PortMessage] = []
        waiting: list[tuple[int, SampleLine]] = []
        messages = self._reader.feed(self._from_first_line(data))
        for message in messages:
            self._heard_ms, self._heard_any = arrival_ms, True
            if isinstance(message, Hello):
                told += self._arrived(waiting, arrival_ms)
                waiting.clear()
                told += self._greet(message, arrival_ms)
            elif isinstance(message, SampleLine):
                board_ms = self._accept(message)
                if board_ms is not None:
                    waiting.append((board_ms, message))
        told += self._arrived(waiting, arrival_ms)
        damaged = self._damaged_before + self._reader.damaged
        self._care.heard(len(messages), damaged - self._counts.damaged)
        self._counts.damaged = damaged
        told += self._trouble(arrival_ms)
        return told + self._silence(arrival_ms) + self._count(arrival_ms)

    def lost(self, text: str, now_ms: int) -> list[PortMessage]:
        """Note that the port could not be opened, or went away."""
        return self._say(text, now_ms, up=False)

    def questions(self, now_ms: int) -> list[bytes]:
        """Lines to send to the board now."""
        due = self._asked_ms is None or now_ms - self._asked_ms >= self._ask_ms
        if self._hello_due and due:
            self._asked_ms = now_ms
            self._orders.append(encode_command("?H"))
        orders, self._orders = self._orders, []
        return orders

    def _from_first_line(self, data: bytes) -> bytes:
        if self._joined or not data:
            return data
        if not data.startswith(b"@"):
            _, newline, data = data.partition(b"\n")
            self._joined = bool(newline)
            return data
        self._joined = True
        return data

    def _accept(self, line: SampleLine) -> int | None:
        """Judge a sample's place; return the board's time, None when it is not to be used."""
        verdict = self._sequence.take(line.seq)
        if verdict.order is Order.DUPLICATE:
            self._counts.duplicates += 1
            return None
        board_ms = self._unwrap.take(line.t_ms) if verdict.is_new else None
        if board_ms is None:
            return self._accept_anew(line)
        self._stale_in_a_row, self._just_greeted = 0, False
        if verdict.lost:
            self._counts.lost += verdict.lost
        if self._board_ms is not None:
            self._care.sampled(board_ms - self._board_ms, verdict.lost + 1)
        self._board_ms = board_ms
        return board_ms

    def _accept_anew(self, line: SampleLine) -> int | None:
        """Deal with a line from the past: late, or of a board whose new hello was lost."""
        self._hello_due = True
        self._stale_in_a_row += 1
        # The line after a hello is in order, unless that hello was a boot's.
        if self._stale_in_a_row < UNHEARD_RESTART and not self._just_greeted:
            self._counts.old += 1
            return None
        self._restart()
        self._sequence.take(line.seq)
        self._board_ms = self._unwrap.take(line.t_ms)
        return self._board_ms

    def _restart(self) -> None:
        self._sequence.restart()
        self._unwrap.restart()
        self._clock.restart()
        self._board_ms = None
        self._stale_in_a_row, self._just_greeted = 0, False
        self._counts.restarts += 1

    def _greet(self, hello: Hello, now_ms: int) -> list[PortMessage]:
        before, self._hello = self._hello, hello
        self._hello_due, self._just_greeted = False, True
        text = f"board {hello.uid} answers, firmware {hello.firmware}."
        if before is not None and before.uid != hello.uid:
            text = f"another board answers: {hello.uid}, before {before.uid}. Check the cable."
        if before is not None and before.boot_id != hello.boot_id:
            self._restart()
            text += f" It began anew, for the {self._counts.restarts}. time in this watch."
        if self._channels.group.period_s is not None:
            period_ms = round(1000.0 * self._channels.group.period_s)
            self._orders.append(encode_command(f"R,{period_ms}"))
        text = " ".join([text, *self._disagreements(hello)])
        return self._say(text, now_ms, up=self._channels.reads_any)

    def _disagreements(self, hello: Hello) -> list[str]:
        if hello.proto == PROTOCOL:
            return [f"Not read: {problem}." for problem in self._channels.check(hello.kinds)]
        self._channels.refuse_all()
        return [
            f"It speaks protocol {hello.proto}, this program reads {PROTOCOL}: nothing is read. "
            "Update the older of the two."
        ]

    def _arrived(self, waiting: list[tuple[int, SampleLine]], arrival_ms: int) -> list[PortMessage]:
        times_ms = self._clock.times_ms([board_ms for board_ms, _ in waiting], arrival_ms)
        told: list[PortMessage] = []
        for time_ms, (_, line) in zip(times_ms, waiting, strict=True):
            if time_ms < self._begin_ms:
                self._counts.old += 1
                continue
            self._counts.frames += 1
            frame = self._channels.frame(line.raws, self._number, time_ms)
            raw = ",".join(line.raws)
            told.append(Arrived(frame=frame, raw=raw, arrived_s=arrival_ms / 1000.0))
        if told and not (self._link is not None and self._link.up) and self._channels.reads_any:
            told[:0] = self._say("the board answers.", arrival_ms, up=True)
        return told

    def _silence(self, now_ms: int) -> list[PortMessage]:
        silence_ms = self.silence_ms(now_ms)
        if silence_ms < self._silent_ms:
            return []
        self._hello_due = True
        told_already = self._link is not None and not self._link.up
        if told_already:
            return []
        return self._say(
            f"the port is open, but nothing good came for {silence_ms / 1000.0:.0f} s "
            f"(limit {self._silent_ms / 1000.0:.0f} s). Check cable, baud and the board's supply.",
            now_ms,
            up=False,
        )

    def _count(self, now_ms: int) -> list[PortMessage]:
        if now_ms - self._counts_told_ms < self._counts_ms:
            return []
        counts = PortCounts(group=self._number, **asdict(self._counts))
        if counts == self._told_counts:
            return []
        self._told_counts, self._counts_told_ms = counts, now_ms
        return [counts]

    def _trouble(self, now_ms: int) -> list[PortMessage]:
        if not self._care.look(now_ms) or self._link is None or not self._link.up:
            return []
        return self._say(self._said, now_ms, up=True)

    def _say(self, text: str, now_ms: int, *, up: bool) -> list[PortMessage]:
        before, self._said = self._link, text
        limps = up and bool(self._care.trouble)
        text = f"{self._care.trouble} {text[0].upper()}{text[1:]}" if limps else text
        if before is not None and (before.up, before.text) == (up, text):
            return []
        self._link = LinkChanged(now_ms / 1000.0, self._number, up, text, limps)
        return [self._link]
