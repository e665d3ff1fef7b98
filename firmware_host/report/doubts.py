"""What the page does not vouch for, and what stays dangerous whatever it says.

Pure. The list is made from the job itself: what was not measured, not seen, not given or not
proven is named, so that nobody has to read it between the lines.
"""

from __future__ import annotations

from firmware_host.model.channels import Role
from firmware_host.model.events import LeakChecked, Verdict
from firmware_host.report.facts import Facts, Sensor
from firmware_host.report.headlines import unwatched, with_role
from firmware_host.report.words import duration, listed, number, several, spaced

NOT_A_SAFETY_SYSTEM = (
    "This page records and warns. It is not a safety system, not a smoke or gas alarm and not a "
    "medical device."
)
NO_PROOF = (
    "It is no proof of strength, of bonding or of cure: gel and conversion are estimates from "
    "temperature, with 95 % intervals, and voids or dry spots are not seen at all."
)

CAUTIONS = (
    "Initiator (peroxide): eyes and gloves first. Never mix it with promoter or accelerator. "
    "Never add more to a wet lay-up.",
    "Styrene and solvent vapour: limits differ by country. Follow local law and the safety sheet; "
    "ventilate.",
    "Left-over resin heats itself, past 100 \u00b0C in a deep cup: tip it out thin, outdoors, on a "
    "hard surface.",
    "Warming: laminate and air at most 35 \u00b0C before the kick; no gun, flame or lamp near open "
    "resin. A heater needs its own cut-out.",
    "A soft part moves. Dust of trimming: mask, wet or extracted.",
    "Anything worn on a body or carrying a load: data sheets, local codes and licensed practice "
    "come first; a qualified person signs and proof-tests it.",
)

CALIBRATION_HOLDS_DAYS = 366
"""A year: common practice for shop gauges, no standard."""

_WORTH_MEASURING = {
    Role.BAG: "vacuum in the bag",
    Role.PUMP: "the pump side",
    Role.PART: "the laminate",
    Role.MOULD: "the mould",
    Role.SHOP: "the shop",
    Role.BAROMETER: "room pressure",
}


def doubts(facts: Facts) -> tuple[str, ...]:
    """List what this page does not vouch for, the general first."""
    said = [NOT_A_SAFETY_SYSTEM, NO_PROOF, *_record(facts), *_overrides(facts), _pour(facts)]
    said += [_unmeasured(facts), *_unseen(facts), *_tests(facts), _assumed(facts)]
    said += [_calibration(facts), *_zeros(facts), _too_quiet(facts)]
    return tuple(text for text in said if text)


def _calibration(facts: Facts) -> str:
    """Name the sensors that nobody has compared with anything within a year of the job."""
    own = "A sensor's own error is in none of the intervals."
    dated = [sensor for sensor in facts.sensors if sensor.calibrated_on is not None]
    if not dated:
        return f"No calibration of the sensors is on record. {own}"
    never = [one.channel.name for one in facts.sensors if one.calibrated_on is None]
    overdue = [
        f"{one.channel.name} ({one.calibrated_on:%Y-%m-%d})" for one in dated if _is_old(one, facts)
    ]
    said = [f"Calibration overdue: {listed(overdue)}."] if overdue else []
    said += [f"Never calibrated, as far as is known: {listed(never)}."] if never else []
    return " ".join([*said, own])


def _zeros(facts: Facts) -> list[str]:
    """Name what the first minutes left in question."""
    return [zero.text for zero in facts.story.zeros if not zero.sound]


def _too_quiet(facts: Facts) -> str:
    quiet = [one.channel for one in facts.story.learnt if not one.tells_stuck]
    if not quiet:
        return ""
    return (
        "Too quiet for its step, so that a stuck code looks like a still level until something "
        f"else moves: {listed(quiet)}."
    )


def _is_old(sensor: Sensor, facts: Facts) -> bool:
    if sensor.calibrated_on is None or facts.zero_wall is None:
        return False
    return (facts.zero_wall.date() - sensor.calibrated_on).days > CALIBRATION_HOLDS_DAYS


def _unmeasured(facts: Facts) -> str:
    missing = [words for role, words in _WORTH_MEASURING.items() if not with_role(facts, role)]
    return f"Not measured: {listed(missing)}." if missing else ""


def _unseen(facts: Facts) -> list[str]:
    parts = [
        f"{'everything' if what == 'nothing' else what} for "
        f"{duration(sum(span.length_s for span in spans))}"
        + (f" in {several(len(spans), 'span')}" if len(spans) > 1 else "")
        for what, spans in unwatched(facts).items()
        if spans
    ]
    return [f"Not seen: {listed(parts)}. Nothing is known of that time."] if parts else []


def _tests(facts: Facts) -> list[str]:
    tests = facts.story.tests
    if not tests:
        return ["No drop test was made: that the bag was tight is not shown."]
    said = [_untold(test) for test in tests if test.verdict is Verdict.UNDECIDED]
    said.append(
        "A drop test speaks for its own minutes: a leak that opened later shows only in the level."
    )
    return said


def _untold(test: LeakChecked) -> str:
    return f"Drop test {test.number} proves nothing either way."


def _pour(facts: Facts) -> str:
    pour = facts.story.pour
    if pour is None:
        return "When the resin was mixed is not known."
    if pour.assumed:
        minutes = number(facts.job.job.work_time_min)
        return (
            "Mixing was not marked: it is taken to have been "
            f"{minutes} min (the stated work time) before the bag was closed."
        )
    return ""


def _assumed(facts: Facts) -> str:
    count = len(facts.job.assumed)
    if not count:
        return ""
    were = "value was" if count == 1 else "values were"
    return f"{count} {were} not given and taken from defaults, marked * (listed in the appendix)."


def _overrides(facts: Facts) -> list[str]:
    return [
        f"Before the pour \u201c{spaced(one.name)}\u201d was set aside: {one.reason}"
        for one in facts.job.overrides
    ]


def _record(facts: Facts) -> list[str]:
    said = []
    if not facts.story.is_over:
        said.append("The job had not ended when this page was made.")
    if facts.head.lost_inputs:
        said.append(f"{several(facts.head.lost_inputs, 'reading')} found no room and are lost.")
    if facts.clock_rate != 1.0:
        rate = number(facts.clock_rate)
        said.append(f"A demonstration: its clock ran {rate} times as fast as the world.")
    for step_s in facts.clock_steps_s:
        way = "on" if step_s > 0.0 else "back"
        said.append(
            f"The board's clock was set {way} by {duration(abs(step_s))} during the job; "
            "times of day count from the clock as it stood at the start."
        )
    if facts.from_log:
        said.append(
            "Made from a recorded log: times of day are the log's own, or those of its replay "
            "where it has none."
        )
    return said
