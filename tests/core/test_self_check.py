"""What fails in the daemon itself becomes an alarm like any other."""

from __future__ import annotations

import pytest

from firmware_host.alarms.kinds import KINDS
from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.samples import Care, SelfCheck

JOB = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n'


@pytest.mark.parametrize(
    ("what", "name"),
    [
        (Care.PHONE_PATH, "phone_path_down"),
        (Care.RECORDING, "recording_fault"),
        (Care.DISK_DAY, "disk_filling"),
        (Care.DISK_HOURS, "disk_nearly_full"),
    ],
)
def test_a_failure_is_raised_once_and_returns_when_it_works_again(what: Care, name: str) -> None:
    monitor = Monitor(parse_job(JOB, "job.toml"), ())
    raised = monitor.step(SelfCheck(5.0, what, ok=False, text="nobody answers."))
    again = monitor.step(SelfCheck(6.0, what, ok=False, text="still nobody answers."))
    returned = monitor.step(SelfCheck(9.0, what, ok=True, text="it works."))
    kind = KINDS[name]
    active = AlarmChanged(
        time_s=5.0,
        id=f"{name}-1",
        name=name,
        channel=None,
        state=AlarmState.ACTIVE,
        priority=kind.priority,
        raised_s=5.0,
        cleared_s=None,
        text="nobody answers.",
        action=kind.action,
    )
    assert (raised, again) == ([active], [])
    assert [
        (event.state, event.cleared_s) for event in returned if type(event) is AlarmChanged
    ] == [(AlarmState.RETURNED, 9.0)]


def test_what_works_from_the_start_says_nothing() -> None:
    monitor = Monitor(parse_job(JOB, "job.toml"), ())
    assert monitor.step(SelfCheck(5.0, Care.PHONE_PATH, ok=True, text="a broker answers.")) == []
    assert monitor.view().alarms == ()
