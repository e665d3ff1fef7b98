"""Commands become inputs on whole milliseconds, or are refused with the next step."""

from __future__ import annotations

import pytest

from firmware_host.inputs.said import input_of, refusal
from firmware_host.model.commands import AcknowledgeCommand, MarkCommand
from firmware_host.model.samples import MARKS, Acknowledge, Mark


@pytest.mark.parametrize("name", MARKS)
def test_every_mark_of_a_log_can_be_said(name: str) -> None:
    assert refusal(MarkCommand(name=name)) is None


def test_a_mark_is_heard_now_and_happened_then() -> None:
    command = MarkCommand(name="pump_on", ago_s=120.0004, note="big pump")
    assert input_of(command, 300_123) == Mark(180.123, "pump_on", 300.123, "big pump")


def test_a_mark_may_lie_before_the_jobs_zero() -> None:
    assert input_of(MarkCommand(name="mixed", ago_s=600.0), 5_000) == Mark(-595.0, "mixed", 5.0)


def test_an_acknowledgement_is_said_now() -> None:
    command = AcknowledgeCommand(id="vacuum_lost-1", by="panel")
    assert input_of(command, 5_000) == Acknowledge(5.0, "vacuum_lost-1", "panel")
    assert refusal(command) is None


def test_a_misspelt_mark_is_refused_with_the_nearest() -> None:
    assert refusal(MarkCommand(name="pump on")) == "'pump on' is no mark. Did you mean pump_on?"


def test_a_strange_mark_is_refused_with_all_there_are() -> None:
    text = refusal(MarkCommand(name="xyz"))
    assert text is not None
    assert text.startswith("'xyz' is no mark. The marks are mixed, dosed, ")


def test_a_job_is_not_abandoned_without_a_reason() -> None:
    assert refusal(MarkCommand(name="abandoned", note=" ")) is not None
    assert refusal(MarkCommand(name="abandoned", note="bag torn")) is None
