"""What goes over the broker: topics and payloads, the same for the daemon, a panel or a watcher.

Pure. JSON, one message a topic. `job` is a code: no name of a part, a person, a customer, a file
or a machine leaves the bench. An `id` names one transition and stays the same when it is sent
again, so that whoever listens can drop the second copy.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import fmean
from typing import Annotated

import msgspec
from msgspec import Meta

from firmware_host.model.channels import Role, channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, Event, Phase, PhaseEntered
from firmware_host.model.snapshot import RecordHead, Snapshot, View
from firmware_host.model.wire_outlook import OutlookMessage, outlook_of
from firmware_host.model.wire_resin import ResinMessage, resin_of
from hardware.units import ZERO_CELSIUS_K

SCHEMA = 1
CODE_LETTERS = 10
"""Of a job's code: 40 bits, so that no two jobs of a workshop share one."""
LONGEST_ACK = 1024
"""Bytes of an acknowledgement; a longer one is refused unread."""

HEARD_PRIORITIES = ("high", "medium")
_QUIET_PHASES = {
    Phase.KICKED: "The resin has kicked: the gel is past.",
    Phase.CLOSED: "The job is closed.",
}
_NOTICE = "notice"
_OWN_TEXT = {
    # What the daemon says of these on its own screen names files and machines.
    "phone_path_down": "No phone could be told anything since then.",
    "recording_fault": "The disk does not take the record; readings wait in the bench's memory.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Topics:
    """Topics of one bench."""

    bench: str

    @property
    def state(self) -> str:
        """Retained: how things stand."""
        return f"bagvigil/{self.bench}/state"

    @property
    def notice(self) -> str:
        """A phone's line."""
        return f"bagvigil/{self.bench}/notice"

    @property
    def presence(self) -> str:
        """Retained: whether the daemon is there; also its last will."""
        return f"bagvigil/{self.bench}/presence"

    @property
    def ack(self) -> str:
        """To the bench: somebody has seen an alarm."""
        return f"bagvigil/{self.bench}/ack"

    def alarm(self, name: str, channel: str | None) -> str:
        """Retained: where one alarm stands."""
        tail = name if channel is None else f"{name}/{channel}"
        return f"bagvigil/{self.bench}/alarm/{tail}"


@dataclass(frozen=True, slots=True, kw_only=True)
class StateMessage:
    """How things stand; a number that is not known is None."""

    schema: int
    job: str
    phase: str
    cure_state: str
    time: str
    bag_pa: float | None
    compaction_pa: float | None
    """Room pressure less the bag's: what presses the plies together."""
    part_c: float | None
    """Mean of the believed laminate couples."""
    conversion: float | None
    """Only after gel."""
    gel_s_left: float | None
    """None once the gel is past, or while nothing can be said."""
    resin: ResinMessage | None
    """None before it is mixed."""
    leak_pa_per_s: float | None
    """Air leaking in, as the rise of the shut bag."""
    limit_s_left: float | None
    """Soonest time to the pressure limit if nothing pulled from now on."""
    outlook: OutlookMessage | None
    alarms: tuple[str, ...]
    """Alarms whose cause holds, as in their topics; the only word of them while a disk is full."""
    record: RecordHead | None
    """What the record held: whoever keeps this line can have it looked for later."""
    seq: int
    """Counts the states of one run of the daemon; a gap is a state that was not delivered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmMessage:
    """One transition of one alarm, and by that where it stands."""

    schema: int
    job: str
    name: str
    channel: str | None
    state: str
    priority: str
    raised: str
    until: str | None
    """When its cause went away; of a shelved alarm, when it comes back."""
    text: str
    action: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoticeMessage:
    """A phone's line: it makes sense alone, also when it comes late."""

    schema: int
    job: str
    title: str
    text: str
    priority: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PresenceMessage:
    """Whether the daemon is there."""

    schema: int
    online: bool
    since: str
    """In the last will: since when it had been online; nobody can say beforehand when it ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AckMessage:
    """Somebody has seen an alarm."""

    id: Annotated[str, Meta(min_length=1, max_length=120)]
    """The `id` of the alarm's message or notice."""
    by: Annotated[str, Meta(min_length=1, max_length=40)]
    """A device's label."""
    time: Annotated[datetime, Meta(tz=True)]


Payload = StateMessage | AlarmMessage | NoticeMessage | PresenceMessage


def encode(payload: Payload) -> bytes:
    """Lay a payload out as JSON."""
    return msgspec.json.encode(payload)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOnWire:
    """A job as the broker knows it: by its code and the date of its zero."""

    code: str
    zero: datetime

    @classmethod
    def of(cls, folder_name: str, zero_wall: str) -> JobOnWire:
        """Derive the code from the folder's name and the job's zero, which no other job shares."""
        text = f"{folder_name}\n{zero_wall}".encode()
        code = hashlib.sha256(text).hexdigest()[:CODE_LETTERS]
        return cls(code=code, zero=datetime.fromisoformat(zero_wall))

    def date(self, time_s: float) -> str:
        """Spell a moment of the job's time line."""
        return (self.zero + timedelta(seconds=time_s)).isoformat(timespec="milliseconds")

    def alarm_id_of(self, wire_id: str) -> str | None:
        """Give the alarm that an acknowledged `id` speaks of; None where it is not of this job."""
        code, _, rest = wire_id.partition(".")
        alarm_id, _, what = rest.rpartition(".")
        is_ours = code == self.code and what in (*AlarmState, _NOTICE)
        return alarm_id if is_ours and alarm_id else None


def state_of(snapshot: Snapshot, job: JobOnWire, seq: int) -> StateMessage:
    """Say how things stand."""
    view, cure = snapshot.view, snapshot.view.cure
    bag_pa, parts_k = _values(view, Role.BAG), _values(view, Role.PART)
    room_pa = view.room_pa
    return StateMessage(
        schema=SCHEMA,
        job=job.code,
        phase=view.phase.value,
        cure_state=cure.state.value if cure is not None else "not_observable",
        time=snapshot.wall,
        bag_pa=_rounded(bag_pa[0] if bag_pa else None, 1),
        compaction_pa=_rounded(room_pa - bag_pa[0] if bag_pa and room_pa is not None else None, 1),
        part_c=_rounded(fmean(parts_k) - ZERO_CELSIUS_K if parts_k else None, 2),
        conversion=_rounded(cure.conversion if cure is not None else None, 4),
        gel_s_left=_gel_s_left(view),
        resin=resin_of(view),
        leak_pa_per_s=_rounded(view.bag.leak_pa_per_s if view.bag is not None else None, 2),
        limit_s_left=_rounded(view.bag.limit_soonest_s if view.bag is not None else None, 0),
        outlook=outlook_of(view.bag),
        alarms=tuple(
            alarm.name if alarm.channel is None else f"{alarm.name}/{alarm.channel}"
            for alarm in view.alarms
            if alarm.state in (AlarmState.ACTIVE, AlarmState.ACKNOWLEDGED)
        ),
        record=snapshot.head,
        seq=seq,
    )


def alarm_of(event: AlarmChanged, job: JobOnWire) -> AlarmMessage:
    """Say where an alarm stands."""
    until_s = event.cleared_s if event.shelved_until_s is None else event.shelved_until_s
    return AlarmMessage(
        schema=SCHEMA,
        job=job.code,
        name=event.name,
        channel=event.channel,
        state=event.state.value,
        priority=event.priority,
        raised=job.date(event.raised_s),
        until=None if until_s is None else job.date(until_s),
        text=_OWN_TEXT.get(event.name, event.text),
        action=event.action,
        id=f"{job.code}.{event.id}.{event.state.value}",
    )


def notice_of(event: Event, job: JobOnWire) -> NoticeMessage | None:
    """Give the phone's line for what a person must hear; None for all the rest.

    That is an alarm of high or medium priority when it is raised, the kick, and the end.
    """
    if isinstance(event, AlarmChanged):
        is_heard = event.state is AlarmState.ACTIVE and event.priority in HEARD_PRIORITIES
        return _alarm_notice(event, job) if is_heard else None
    if isinstance(event, PhaseEntered) and event.phase in _QUIET_PHASES:
        return NoticeMessage(
            schema=SCHEMA,
            job=job.code,
            title=event.phase.value,
            text=f"{_clock(job, event.since_s)} {_QUIET_PHASES[event.phase]}",
            priority="low",
            id=f"{job.code}.{event.phase.value}.{_NOTICE}",
        )
    return None


def presence(*, online: bool, since: datetime) -> PresenceMessage:
    """Say whether the daemon is there."""
    return PresenceMessage(
        schema=SCHEMA, online=online, since=since.isoformat(timespec="milliseconds")
    )


def read_ack(payload: bytes) -> AckMessage:
    """Read an acknowledgement, strictly. Raises ValueError that says what is wrong with it."""
    if len(payload) > LONGEST_ACK:
        raise ValueError(f"it has {len(payload)} bytes (limit {LONGEST_ACK})")
    held = msgspec.json.decode(payload, type=dict[str, str])
    strange = sorted(held.keys() - {"id", "by", "time"})
    if strange:
        raise ValueError(f"it has the unknown field {strange[0][:20]!r}")
    said = msgspec.convert(held, AckMessage)
    if not (said.id + said.by).isprintable():
        raise ValueError("it holds letters that cannot be printed")
    return said


def _alarm_notice(event: AlarmChanged, job: JobOnWire) -> NoticeMessage:
    title = event.name.replace("_", " ")
    text = _OWN_TEXT.get(event.name, event.text)
    return NoticeMessage(
        schema=SCHEMA,
        job=job.code,
        title=title if event.channel is None else f"{title}: {event.channel}",
        text=f"{_clock(job, event.raised_s)} {text} {event.action}",
        priority=event.priority,
        id=f"{job.code}.{event.id}.{_NOTICE}",
    )


def _clock(job: JobOnWire, time_s: float) -> str:
    return f"{job.zero + timedelta(seconds=time_s):%H:%M}"


def _values(view: View, role: Role) -> list[float]:
    return [
        channel.value
        for channel in view.channels
        if channel.value is not None and channel_named(channel.name).role is role
    ]


def _gel_s_left(view: View) -> float | None:
    cure = view.cure
    if cure is None or cure.gel_s is None or cure.conversion is not None:
        return None
    left_s = cure.gel_s - view.time_s
    return _rounded(left_s, 1) if left_s > 0.0 else None


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
