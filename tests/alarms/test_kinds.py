"""What every alarm must tell a person."""

from __future__ import annotations

import pytest

from firmware_host.alarms.kinds import KINDS, AlarmKind

BY_NAME = pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))


@BY_NAME
def test_every_alarm_says_cause_consequence_action_and_time_to_act(kind: AlarmKind) -> None:
    for words in (kind.cause, kind.consequence, kind.action, kind.time_to_act):
        assert len(words.split()) >= 2, kind.name


@BY_NAME
def test_every_alarm_has_one_of_three_priorities(kind: AlarmKind) -> None:
    assert kind.priority in ("high", "medium", "low")


@BY_NAME
def test_delays_are_never_negative(kind: AlarmKind) -> None:
    assert min(kind.on_delay_s, kind.off_delay_s) >= 0.0


def test_an_alarm_is_kept_under_its_own_name() -> None:
    assert all(kind.name == name for name, kind in KINDS.items())
