"""How far an epoxy is from what its job asks for, and which step brings it there."""

from __future__ import annotations

import pytest

from firmware_host.batch.post_cure import hours_to, schedule_words, target_conversion
from firmware_host.core.cure_state import policy_at
from tests.cure.jobs import EPOXY, job_of

ROOM_K = 294.15


def wanting(words: str, limit_c: float = 80.0) -> str:
    return f"{EPOXY}[limits]\nhighest_temperature_c = {limit_c}\n[post_cure]\n{words}\n"


def test_a_job_that_asks_for_nothing_is_told_nothing() -> None:
    assert target_conversion(job_of(EPOXY)) is None
    assert schedule_words(job_of(EPOXY), 0.7, ROOM_K) == ""


def test_a_room_that_stops_short_is_said_with_the_coolest_step_that_gets_there() -> None:
    job = job_of(wanting("conversion = 0.90"))
    words = schedule_words(job, 0.70, ROOM_K)
    assert words.startswith("at least 70% of 90%, glass at ")
    hours, temp_c = words.rsplit("post-cure ", 1)[1].split(" h at ")
    found_c = float(temp_c.removesuffix(" degC"))
    needed = hours_to(job.resin, 0.70, 0.90, found_c)
    assert needed is not None
    assert needed <= float(hours) <= needed + 0.5
    cooler = hours_to(job.resin, 0.70, 0.90, found_c - 10.0)
    assert cooler is None or cooler > 24.0


@pytest.mark.parametrize(("highest_c", "limit_c"), [(40.0, 80.0), (80.0, 40.0)])
def test_no_step_is_proposed_beyond_sheet_form_or_job(highest_c: float, limit_c: float) -> None:
    job = job_of(wanting(f"conversion = 0.90\nhighest_c = {highest_c}", limit_c))
    assert schedule_words(job, 0.70, ROOM_K).endswith(
        "no step that job and form can bear brings it"
    )


def test_a_glass_transition_may_be_asked_for_instead() -> None:
    job = job_of(wanting("glass_transition_c = 60.0"))
    target = target_conversion(job)
    assert target is not None
    assert 0.85 < target < 0.95


def test_what_is_reached_is_said_to_be() -> None:
    words = schedule_words(job_of(wanting("conversion = 0.70")), 0.74, ROOM_K)
    assert words.endswith("as asked for")
    assert policy_at(0.76).pull_conversion < 0.70


def test_what_the_room_will_bring_by_itself_needs_no_oven() -> None:
    words = schedule_words(job_of(wanting("conversion = 0.70")), 0.66, ROOM_K)
    assert words.endswith("more in this room")
