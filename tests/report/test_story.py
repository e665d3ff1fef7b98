from __future__ import annotations

from collections.abc import Sequence

from firmware_host.model.events import AlarmState, Event, MarkTaken, Phase, Verdict
from firmware_host.model.samples import Acknowledge, Input
from firmware_host.report.story import Pour, Story, by_cause, joined, shared, tell
from firmware_host.report.tally import Span
from tests.report.parts import END_S, alarm, drop_test, gap, phase, two_alarms, whole_job


def told(events: Sequence[Event], *others: Input) -> Story:
    return tell(events, others, work_s=1200.0, last_s=END_S)


def test_the_window_follows_the_oldest_cup() -> None:
    cups: list[Event] = [
        MarkTaken(time_s=at, name="mixed", at_s=at, taken=True, text="") for at in (300.0, 900.0)
    ]
    assert told(cups).pour == Pour(time_s=300.0, assumed=False)


def test_a_pour_that_was_set_aside_is_none() -> None:
    refused: list[Event] = [MarkTaken(time_s=9.0, name="mixed", at_s=9.0, taken=False, text="no")]
    assert told(refused).pour is None


def test_without_a_mark_the_pour_is_the_work_time_before_the_bag_was_closed() -> None:
    assert told([phase(1500.0, Phase.DRAWDOWN)]).pour == Pour(time_s=300.0, assumed=True)


def test_only_the_last_word_on_a_drop_test_counts() -> None:
    first = drop_test(1, 100.0, Verdict.UNDECIDED, 1.0, 9.0)
    last = drop_test(1, 100.0, Verdict.TIGHT, 1.0, 2.0)
    assert told([first, last]).tests == (last,)


def test_an_alarm_has_its_answer_and_its_end() -> None:
    said = [event for _, events in two_alarms() for event in events]
    story = tell(said, [Acknowledge(2460.0, "bag_leaking-1", "panel")], work_s=1200.0, last_s=END_S)
    leak = story.alarms[0]
    assert (leak.raised_s, leak.said_s, leak.seen_s, leak.seen_by, leak.cleared_s) == (
        *(2395.0, 2400.0, 2460.0, "panel"),
        2700.0,
    )


def test_an_alarm_that_came_back_is_not_cleared() -> None:
    story = told(
        [
            alarm("vacuum_lost", AlarmState.ACTIVE, 10.0, 10.0),
            alarm("vacuum_lost", AlarmState.RETURNED, 20.0, 10.0),
            alarm("vacuum_lost", AlarmState.ACTIVE, 30.0, 10.0),
        ]
    )
    assert story.alarms[0].cleared_s is None


def test_channels_that_fell_silent_together_are_one_cause() -> None:
    story = told([event for _, events in two_alarms() for event in events])
    assert [len(causes) for causes in by_cause(story.alarms)] == [1, 3]


def test_two_alarms_of_the_whole_bag_are_two_causes() -> None:
    one, other = (
        alarm(name, AlarmState.ACTIVE, 10.0, 10.0) for name in ("vacuum_lost", "bag_leaking")
    )
    assert len(by_cause(told([one, other]).alarms)) == 2


def test_the_watch_is_from_the_pour_to_the_release() -> None:
    story = told([event for _, events in whole_job() for event in events])
    assert (story.watch, story.end_s, story.is_over) == (Span(300.0, 6600.0), 6900.0, True)


def test_a_job_that_runs_ends_where_its_record_ends() -> None:
    assert told([]).watch == Span(0.0, END_S)


def test_a_gap_has_its_span_and_its_reason() -> None:
    held = told([gap(100.0, 160.0)]).gaps[0]
    assert (held.span, held.why) == (Span(100.0, 160.0), "Bag Vigil was not running")


def test_spans_are_joined_and_cut() -> None:
    within = Span(0.0, 10.0)
    assert joined([Span(8.0, 20.0), Span(1.0, 2.0), Span(2.0, 3.0)], within) == (
        *(Span(1.0, 3.0), Span(8.0, 10.0)),
    )
    assert shared([Span(0.0, 5.0)], [Span(4.0, 9.0)]) == (Span(4.0, 5.0),)
    assert shared([Span(0.0, 4.0)], [Span(4.0, 9.0)]) == ()
