"""The alarms Bag Vigil knows: each with what causes it, what follows, what to do, and by when.

An alarm is only what needs a person, soon. On-delay and off-delay are separate numbers; a cause
must hold for the first before the alarm is raised, and be gone for the second before it returns.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmKind:
    """One alarm."""

    name: str
    priority: str
    """high: get up now; medium: within some minutes; low: when passing by."""
    on_delay_s: float
    off_delay_s: float
    cause: str
    consequence: str
    action: str
    time_to_act: str


KINDS: dict[str, AlarmKind] = {
    kind.name: kind
    for kind in (
        AlarmKind(
            name="vacuum_lost",
            priority="high",
            on_delay_s=1.5,
            off_delay_s=10.0,
            cause="bag above the pressure limit after it was once below",
            consequence="before the kick: loose plies, porosity, lifted corners",
            action="Listen along the tape, the pleats and the hose end; check pump and valve. "
            "Patch over a leak, do not lift old tape.",
            time_to_act="before gel, minutes; after gel it matters less",
        ),
        AlarmKind(
            name="bag_leaking",
            priority="high",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="more air leaks in than the drop limit: by a drop test, by the level behind the "
            "running pump, or by the rise between its starts",
            consequence="vacuum fades as soon as the pump cannot keep up",
            action="Press the tape, pleats and every wire or fitting through it; then test again.",
            time_to_act="before the kick",
        ),
        AlarmKind(
            name="pump_trouble",
            priority="high",
            on_delay_s=0.0,
            off_delay_s=10.0,
            cause="the pump side does not do its part: worn, hot, stopped, unplugged, hose pinched "
            "or blocked",
            consequence="vacuum fades at the rate of the bag's own leak, and a leak is not held",
            action="Look at the pump's plug, its oil and its heat; follow the hose for a kink, see "
            "that the valve is open and the pot not full.",
            time_to_act="before the bag reaches its limit; before gel, minutes",
        ),
        AlarmKind(
            name="exotherm_late",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="past the latest gel time, and gel is not more likely past than not",
            consequence="left cold, the part may stay soft",
            action="Warm the whole piece gently, laminate and air at most 35 degC, no gun or lamp "
            "near open resin. Never add initiator to a wet lay-up.",
            time_to_act="within the hour",
        ),
        AlarmKind(
            name="exotherm_stalled",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="it kicked, then practically stopped well short of the end",
            consequence="part-cured: it stays soft inside and smells, and vacuum still matters",
            action="Keep the vacuum on. Warm the whole piece gently, laminate and air at most "
            "35 degC, no gun or lamp near open resin. Never add initiator to a wet lay-up.",
            time_to_act="within the hour",
        ),
        AlarmKind(
            name="over_temperature",
            priority="high",
            on_delay_s=10.0,
            off_delay_s=60.0,
            cause="laminate or mould above the job's highest temperature, or sure to be in 5 min",
            consequence="scorch, cracks, a soft or locked-on form",
            action="Take heat and blankets off, move air over it, keep away from fumes. "
            "Do not open the bag.",
            time_to_act="at once",
        ),
        AlarmKind(
            name="cup_hot",
            priority="low",
            on_delay_s=0.0,
            off_delay_s=60.0,
            cause="left-over resin above 100 degC; a deep cup passes 150 degC as a rule",
            consequence="smoke that must not be breathed, a cup that melts, fire possible",
            action="Do not carry a hot or smoking cup: keep away, out of the fumes, nothing that "
            "burns beside it. Tip the next one out thin, outdoors, while it is still cool.",
            time_to_act="before it smokes; the next one before it kicks",
        ),
        AlarmKind(
            name="sensor_fault",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=5.0,
            cause="a channel is silent, open, shorted or out of its range",
            consequence="what it measured is not watched",
            action="Check its plug and wire; the job goes on without it.",
            time_to_act="before it is needed",
        ),
        AlarmKind(
            name="phone_path_down",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="the broker is absent, silent, or does not take what this bench says",
            consequence="no phone hears of an alarm; only this board and its panel do",
            action="Stay within sight of the panel. Check the broker, the network and [mqtt] in "
            "the bench file.",
            time_to_act="before you leave the bench",
        ),
        AlarmKind(
            name="recording_fault",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="the disk does not take the record, or not in time",
            consequence="readings wait in memory; a power cut now loses them, a full memory too",
            action="Free space, or check the card or disk and its cable. Do not switch off.",
            time_to_act="within the hour",
        ),
        AlarmKind(
            name="disk_filling",
            priority="low",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="at the present pace the disk is full within a day",
            consequence="the end of a long job would not be recorded",
            action="Free space, or put in another card before the next job.",
            time_to_act="before the next job",
        ),
        AlarmKind(
            name="disk_nearly_full",
            priority="medium",
            on_delay_s=0.0,
            off_delay_s=0.0,
            cause="at the present pace the disk is full within two hours",
            consequence="from then on readings wait in memory, for about an hour",
            action="Free space now; old jobs may be moved to another disk.",
            time_to_act="within the hour",
        ),
    )
}
