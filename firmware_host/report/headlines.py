"""The four answers at the top of the page, in plain words: bag, gel, warmth, watching.

Pure. Each says what was seen and no more: a test that was not made proves nothing, and a gel that
nothing measured could show is not said to be missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from firmware_host.model.channels import Role
from firmware_host.model.events import LeakChecked, Phase, Verdict
from firmware_host.report.facts import Facts, Measured
from firmware_host.report.resin_notes import kicked_late, release_words
from firmware_host.report.story import Story, by_cause, joined, shared
from firmware_host.report.tally import Extreme, Span
from firmware_host.report.words import (
    NBSP,
    TimeWords,
    celsius,
    duration,
    listed,
    mbar,
    mbar_in_5_min,
    number,
    percent,
    several,
)

MANY_TIMES = 20
"""A bag tighter than this is said to be "more than": the interval's end is not that well known."""


class Tone(StrEnum):
    """How an answer reads; shown by a sign as well as by its words."""

    GOOD = "good"
    OPEN = "open"
    BAD = "bad"


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """One answer."""

    about: str
    answer: str
    details: tuple[str, ...]
    tone: Tone


def headlines(
    facts: Facts, measured: Mapping[str, Measured], words: TimeWords
) -> tuple[Headline, ...]:
    """Give the four answers."""
    return (
        _bag(facts, measured),
        _gel(facts.story, words),
        _heat(facts, measured, words),
        _watched(facts, words),
    )


def with_role(facts: Facts, role: Role) -> tuple[str, ...]:
    """Names of the channels with a role."""
    return tuple(sensor.channel.name for sensor in facts.sensors if sensor.channel.role is role)


def _bag(facts: Facts, measured: Mapping[str, Measured]) -> Headline:
    names = with_role(facts, Role.BAG)
    if not names:
        return Headline(
            about="Vacuum",
            answer="Vacuum not measured",
            details=("No channel watched the pressure in the bag.",),
            tone=Tone.OPEN,
        )
    answer, why, tone = _proof(facts.story)
    return Headline(
        about="Vacuum",
        answer=answer,
        details=tuple(text for text in (why, _held(facts, measured[names[0]])) if text),
        tone=tone,
    )


def _proof(story: Story) -> tuple[str, str, Tone]:
    lost = [life for life in story.alarms if life.name == "vacuum_lost"]
    if lost:
        spans = [Span(life.raised_s, life.cleared_s or story.watch.end_s) for life in lost]
        gone_s = sum(span.length_s for span in joined(spans, Span(0.0, story.last_s)))
        return f"Vacuum lost for {duration(gone_s)}", _last_test(story), Tone.BAD
    if not story.tests:
        return "Bag not proven", "No drop test was made.", Tone.OPEN
    test = story.tests[-1]
    if test.verdict is Verdict.LEAKING:
        return f"Bag leaked{_times(test)}", _last_test(story), Tone.BAD
    if test.verdict is Verdict.UNDECIDED:
        return "Bag not proven", _last_test(story), Tone.OPEN
    return f"Bag held: {tight_words(test)}", _last_test(story), Tone.GOOD


def tight_words(test: LeakChecked) -> str:
    """Say by how much a tight bag is tight: its limit against the most that may leak in."""
    high = test.rise_high_pa_per_s
    if high is None:
        return "tight"
    ratio = int(test.limit_pa_per_s / high) if high > 0.0 else MANY_TIMES + 1
    if ratio > MANY_TIMES:
        return f"tight by more than {MANY_TIMES} times"
    return f"tight by {ratio} times" if ratio >= 2 else "tight"


def _times(test: LeakChecked) -> str:
    rise = test.rise_pa_per_s
    if rise is None or rise < 1.5 * test.limit_pa_per_s:
        return " more than the rule allows"
    return f": {rise / test.limit_pa_per_s:.0f} times the rule"


def _last_test(story: Story) -> str:
    if not story.tests:
        return "No drop test was made."
    test = story.tests[-1]
    leaks = [one.number for one in story.tests[:-1] if one.verdict is Verdict.LEAKING]
    before = f"A leak found in test {listed([str(n) for n in leaks])} was closed. " if leaks else ""
    if test.verdict is not Verdict.TIGHT:
        before = ""
    most = test.rise_high_pa_per_s
    if most is None:
        return f"{before}Drop test {test.number} was too short to tell."
    bound = "at most " if test.verdict is Verdict.TIGHT else "up to "
    return (
        f"{before}Drop test {test.number}: air leaking in {bound}{mbar_in_5_min(most)}; "
        f"rule {mbar_in_5_min(test.limit_pa_per_s)}."
    )


def _held(facts: Facts, bag: Measured) -> str:
    lowest = bag.tally.lowest
    if lowest is None:
        return "The bag's pressure was never read during the job."
    limit = f"{number(facts.job.bag.pressure_limit_mbar)}{NBSP}mbar"
    return f"Below {limit} for {duration(bag.tally.below_s)}; lowest {mbar(lowest.value)}."


def _gel(story: Story, words: TimeWords) -> Headline:
    if story.gel is not None:
        return _gelled(story, words)
    if story.pour is None:
        answer, detail = "Resin not followed", "Nothing says when it was mixed."
    elif not story.forecasts:
        answer, detail = "Resin not followed", "No temperature was measured after mixing."
    elif story.is_over:
        answer, detail = "No gel seen", "Nothing measured shows that the resin gelled."
    else:
        last = story.forecasts[-1]
        answer = f"Gel expected {words.minutes(last.gel_s):.0f}{NBSP}min after mixing"
        detail = f"95{NBSP}% interval {_between(words, last.low_s, last.high_s)}."
    return Headline(about="Resin", answer=answer, details=(detail,), tone=Tone.OPEN)


def _gelled(story: Story, words: TimeWords) -> Headline:
    assert story.gel is not None, "asked for only where there is one"
    gel = story.gel
    late = kicked_late(story) or any(life.name == "exotherm_late" for life in story.alarms)
    details = [f"95{NBSP}% interval {_between(words, gel.low_s, gel.high_s)}."]
    if story.forecasts:
        first = story.forecasts[0]
        details[0] += (
            f" Expected at first: {words.minutes(first.gel_s):.0f} "
            f"({_between(words, first.low_s, first.high_s)})."
        )
    details += [text for text in (_conversion(story), release_words(story)) if text]
    return Headline(
        about="Resin",
        answer=f"Gelled {words.minutes(gel.gel_s):.0f}{NBSP}min after mixing"
        + (", kicked late" if kicked_late(story) else ", late" if late else ""),
        details=tuple(details),
        tone=Tone.BAD if late else Tone.GOOD,
    )


def _conversion(story: Story) -> str:
    until_s = story.watch.end_s
    said = [one for one in story.cure if one.time_s <= until_s] or list(story.cure[-1:])
    if not said:
        return ""
    last = said[-1]
    when = "when vacuum was released" if story.released_s is not None else "at the end"
    return (
        f"Estimated conversion {when}: {percent(last.conversion)} "
        f"({last.low * 100.0:.0f} to {last.high * 100.0:.0f})."
    )


def _between(words: TimeWords, low_s: float, high_s: float) -> str:
    return f"{words.minutes(low_s):.0f} to {words.minutes(high_s):.0f}{NBSP}min"


def _heat(facts: Facts, measured: Mapping[str, Measured], words: TimeWords) -> Headline:
    names = with_role(facts, Role.PART) or with_role(facts, Role.MOULD)
    peaks = [(measured[name].tally.highest, name) for name in names]
    found = [(peak, name) for peak, name in peaks if peak is not None]
    if not found:
        detail = "No channel watched laminate or mould." if not names else "No reading of it came."
        return Headline(
            about="Warmth", answer="Warmth not measured", details=(detail,), tone=Tone.OPEN
        )
    peak, name = max(found, key=lambda one: one[0].value)
    over = any(life.name == "over_temperature" for life in facts.story.alarms)
    limit = f"limit {number(facts.job.limits.highest_temperature_c)}{NBSP}\u00b0C"
    return Headline(
        about="Warmth",
        answer=f"Hottest {celsius(peak.value)}",
        details=(
            f"{name}, {words.minutes(peak.time_s):.0f}{NBSP}min after {words.origin}; {limit}.",
            *_shop(facts, measured),
        ),
        tone=Tone.BAD if over else Tone.GOOD,
    )


def _shop(facts: Facts, measured: Mapping[str, Measured]) -> tuple[str, ...]:
    for name in with_role(facts, Role.SHOP):
        low, high = measured[name].tally.lowest, measured[name].tally.highest
        if low is not None and high is not None:
            return (f"Shop {_range(low, high)}.",)
    return ()


def _range(low: Extreme, high: Extreme) -> str:
    return f"{celsius(low.value).removesuffix(NBSP + chr(176) + 'C')} to {celsius(high.value)}"


def unwatched(facts: Facts) -> dict[str, tuple[Span, ...]]:
    """Spans of the job in which nobody watched at all, or one thing that matters was not seen."""
    story, within = facts.story, facts.story.watch
    gaps = [gap.span for gap in story.gaps]
    spans = {"nothing": joined(gaps, within)}
    for word, role in (("vacuum", Role.BAG), ("laminate", Role.PART)):
        blind = [story.blind(name) for name in with_role(facts, role)]
        if blind:
            both = blind[0]
            for other in blind[1:]:
                both = shared(both, other)
            spans[word] = joined(both, within)
    return spans


def _watched(facts: Facts, words: TimeWords) -> Headline:
    story = facts.story
    spans = unwatched(facts)
    total_s = _total(joined([span for some in spans.values() for span in some], story.watch))
    watch = story.watch
    details = [
        f"{_from(story, words)} {words.wall(watch.start_s)} to {words.wall(watch.end_s)}, "
        f"{duration(watch.length_s)}."
    ]
    details += [text for text in (_unseen_parts(spans),) if text]
    details.append(_rang(story))
    if total_s < 0.5:
        return Headline(
            about="Watch", answer="Watched throughout", details=tuple(details), tone=Tone.GOOD
        )
    return Headline(
        about="Watch",
        answer=f"{duration(total_s)} unseen",
        details=tuple(details),
        tone=Tone.OPEN,
    )


def _from(story: Story, words: TimeWords) -> str:
    if words.zero_wall is None:
        return "Time of day not known:"
    if story.pour is None:
        return "Record"
    return "Pour to release" if story.released_s is not None else "Since the pour"


def _unseen_parts(spans: Mapping[str, tuple[Span, ...]]) -> str:
    parts = [
        f"{'monitor off' if what == 'nothing' else what + ' not seen'} {duration(_total(some))}"
        for what, some in spans.items()
        if some
    ]
    return f"{listed(parts).capitalize()}." if parts else ""


def _rang(story: Story) -> str:
    causes = by_cause(life for life in story.alarms if life.raised_s <= story.watch.end_s)
    if story.phase is Phase.ABANDONED:
        return "The job was abandoned."
    return f"{several(len(causes), 'alarm')} rang." if causes else "No alarm."


def _total(spans: tuple[Span, ...]) -> float:
    return sum(span.length_s for span in spans)
