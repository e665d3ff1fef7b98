"""All alarms of a job: conditions in, transitions out, with on- and off-delay.

Pure: the time is an argument. One alarm per cause; a second symptom of the same cause does not
raise a second one.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.alarms.kinds import KINDS
from firmware_host.alarms.lifecycle import AlarmInput, accepts, advance
from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.snapshot import AlarmView

Key = tuple[str, str | None]


@dataclass(slots=True)
class _Alarm:
    state: AlarmState = AlarmState.CLEAR
    count: int = 0
    raised_s: float = 0.0
    cleared_s: float | None = None
    text: str = ""
    action: str = ""
    priority: str = ""
    true_since_s: float | None = None
    false_since_s: float | None = None
    shelved_until_s: float | None = None


class AlarmBoard:
    """Keeps every alarm's state and says what changed."""

    def __init__(self) -> None:
        self._alarms: dict[Key, _Alarm] = {}

    def condition(
        self,
        name: str,
        now_s: float,
        *,
        holds: bool,
        text: str = "",
        since_s: float | None = None,
        channel: str | None = None,
        priority: str | None = None,
        action: str | None = None,
    ) -> list[AlarmChanged]:
        """Say whether an alarm's cause holds now; `since_s` is when it began, where known.

        `priority` and `action` replace the kind's own for an alarm that is raised now.
        """
        kind = KINDS[name]
        alarm = self._alarms.get((name, channel))
        if alarm is None:
            if not holds:
                return []
            alarm = self._alarms[name, channel] = _Alarm()
        if holds:
            alarm.false_since_s = None
            if alarm.true_since_s is None:
                alarm.true_since_s = since_s if since_s is not None else now_s
            ripe = now_s - alarm.true_since_s >= kind.on_delay_s
            if ripe and accepts(alarm.state, AlarmInput.TRIP):
                alarm.priority = priority or kind.priority
                alarm.action = action or kind.action
                return [self._raise(name, channel, alarm, now_s, text)]
            return []
        return self._may_return(name, channel, alarm, now_s, since_s)

    def active(self, name: str, channel: str | None = None) -> bool:
        """Tell whether an alarm's cause is said to hold."""
        alarm = self._alarms.get((name, channel))
        if alarm is None:
            return False
        if alarm.state is AlarmState.SHELVED:
            return alarm.true_since_s is not None
        return alarm.state in (AlarmState.ACTIVE, AlarmState.ACKNOWLEDGED)

    def acknowledge(self, alarm_id: str, now_s: float) -> list[AlarmChanged]:
        """Take in that somebody saw an alarm; an unknown or settled id changes nothing."""
        for (name, channel), alarm in self._alarms.items():
            fits = _id(name, channel, alarm) == alarm_id
            if fits and accepts(alarm.state, AlarmInput.ACKNOWLEDGE):
                alarm.state = advance(alarm.state, AlarmInput.ACKNOWLEDGE)
                return [_changed(name, channel, alarm, now_s)]
        return []

    def shelve(self, alarm_id: str, now_s: float, until_s: float) -> list[AlarmChanged]:
        """Put an alarm aside until then; an unknown or settled id changes nothing."""
        for (name, channel), alarm in self._alarms.items():
            fits = _id(name, channel, alarm) == alarm_id
            if fits and accepts(alarm.state, AlarmInput.SHELVE):
                alarm.state = advance(alarm.state, AlarmInput.SHELVE)
                alarm.shelved_until_s = until_s
                return [_changed(name, channel, alarm, now_s)]
        return []

    def end_shelves(self, now_s: float) -> list[AlarmChanged]:
        """Bring back what has lain its time; where its cause still holds, it is raised anew."""
        said: list[AlarmChanged] = []
        for (name, channel), alarm in self._alarms.items():
            if alarm.shelved_until_s is None or now_s < alarm.shelved_until_s:
                continue
            alarm.state = advance(alarm.state, AlarmInput.UNSHELVE)
            alarm.shelved_until_s, alarm.cleared_s = None, now_s
            said.append(_changed(name, channel, alarm, now_s))
            if alarm.true_since_s is not None:
                said.append(self._raise(name, channel, alarm, now_s, alarm.text))
        return said

    def views(self) -> tuple[AlarmView, ...]:
        """List what is not clear, newest first."""
        open_ones = [
            AlarmView(
                id=_id(name, channel, alarm),
                name=name,
                channel=channel,
                state=alarm.state,
                priority=alarm.priority,
                raised_s=alarm.raised_s,
                text=alarm.text,
                action=alarm.action,
                shelved_until_s=alarm.shelved_until_s,
            )
            for (name, channel), alarm in self._alarms.items()
            if alarm.state is not AlarmState.CLEAR
        ]
        return tuple(sorted(open_ones, key=lambda view: -view.raised_s))

    def _raise(
        self, name: str, channel: str | None, alarm: _Alarm, now_s: float, text: str
    ) -> AlarmChanged:
        alarm.state = advance(alarm.state, AlarmInput.TRIP)
        alarm.count += 1
        alarm.raised_s = alarm.true_since_s if alarm.true_since_s is not None else now_s
        alarm.cleared_s = None
        alarm.text = text
        return _changed(name, channel, alarm, now_s)

    def _may_return(
        self, name: str, channel: str | None, alarm: _Alarm, now_s: float, since_s: float | None
    ) -> list[AlarmChanged]:
        alarm.true_since_s = None
        if not accepts(alarm.state, AlarmInput.RETURN):
            return []
        if alarm.false_since_s is None:
            alarm.false_since_s = since_s if since_s is not None else now_s
        if now_s - alarm.false_since_s < KINDS[name].off_delay_s:
            return []
        alarm.state = advance(alarm.state, AlarmInput.RETURN)
        alarm.cleared_s = alarm.false_since_s
        return [_changed(name, channel, alarm, now_s)]


def _id(name: str, channel: str | None, alarm: _Alarm) -> str:
    return f"{name}-{channel}-{alarm.count}" if channel else f"{name}-{alarm.count}"


def _changed(name: str, channel: str | None, alarm: _Alarm, now_s: float) -> AlarmChanged:
    return AlarmChanged(
        time_s=now_s,
        id=_id(name, channel, alarm),
        name=name,
        channel=channel,
        state=alarm.state,
        priority=alarm.priority,
        raised_s=alarm.raised_s,
        cleared_s=alarm.cleared_s,
        text=alarm.text,
        action=alarm.action,
        shelved_until_s=alarm.shelved_until_s,
    )
