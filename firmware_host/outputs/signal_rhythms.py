"""What the bench is heard and seen to say, by a view of the job. Pure.

Rhythms differ by shape, not by pitch, so that they are told apart through ear defenders: high is
hurried, medium slow, low a tick. An alarm that somebody has seen makes no sound; its lamp stays.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.channels import Role, channel_named
from firmware_host.model.commands import AcknowledgeCommand, MarkCommand, PliesCommand
from firmware_host.model.events import AlarmState, Phase
from firmware_host.model.snapshot import AlarmView, View, ply_to_lay

PRIORITIES = ("high", "medium", "low")
LOWEST_HZ, HIGHEST_HZ = 220.0, 880.0
"""Two octaves, where a small speaker is still loud."""
USUAL_ROOM_PA = 101325.0
BY = "button"


@dataclass(frozen=True, slots=True)
class Rhythm:
    """On and off, again and again; an `off_s` of 0 is always on."""

    on_s: float
    off_s: float


SOUNDS = {"high": Rhythm(0.2, 0.2), "medium": Rhythm(0.5, 1.5), "low": Rhythm(0.1, 9.9)}
UNSEEN, GONE, SEEN = Rhythm(0.25, 0.25), Rhythm(0.25, 2.75), Rhythm(1.0, 0.0)
"""A lamp: nobody has seen the alarm; it went away unseen; somebody has seen it and it stands."""


def sound_of(view: View) -> Rhythm | None:
    """Return the buzzer's rhythm: of the most urgent alarm that nobody has seen."""
    unseen = {alarm.priority for alarm in view.alarms if alarm.state is AlarmState.ACTIVE}
    return next((SOUNDS[one] for one in PRIORITIES if one in unseen), None)


def lamp_of(view: View, priority: str) -> Rhythm | None:
    """Return one lamp's rhythm; None while no alarm of its priority stands."""
    states = {alarm.state for alarm in view.alarms if alarm.priority == priority}
    if AlarmState.ACTIVE in states:
        return UNSEEN
    if AlarmState.RETURNED in states:
        return GONE
    return SEEN if AlarmState.ACKNOWLEDGED in states else None


def tone_hz(view: View) -> float | None:
    """Return the pitch that tells hands on the film how deep the vacuum is.

    Only while the bag is drawn down, only on a believed reading, and never over an alarm. Two
    octaves from room pressure to nothing, even steps of pressure being even steps to the ear.
    """
    if view.phase not in (Phase.DRY_BAG, Phase.DRAWDOWN) or sound_of(view) is not None:
        return None
    bag_pa = next(
        (one.value for one in view.channels if channel_named(one.name).role is Role.BAG), None
    )
    if bag_pa is None:
        return None
    drawn = 1.0 - min(max(bag_pa / (view.room_pa or USUAL_ROOM_PA), 0.0), 1.0)
    return LOWEST_HZ * float((HIGHEST_HZ / LOWEST_HZ) ** drawn)


def pressed(view: View) -> list[AcknowledgeCommand | MarkCommand | PliesCommand]:
    """Return what one press means: silence what sounds, else the next ply, else the usual mark.

    Never both: a hand that hits the button because it sounds must not tell the job a lie.
    """
    unseen = [alarm for alarm in view.alarms if _is_unseen(alarm)]
    if unseen:
        return [AcknowledgeCommand(id=alarm.id, by=BY) for alarm in unseen]
    ply = ply_to_lay(view)
    if ply is not None:
        return [PliesCommand(laid=ply)]
    return [MarkCommand(name=view.usual_mark)] if view.usual_mark is not None else []


def _is_unseen(alarm: AlarmView) -> bool:
    return alarm.state in (AlarmState.ACTIVE, AlarmState.RETURNED)
