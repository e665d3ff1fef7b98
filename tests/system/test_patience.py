"""The clock of the fast benches: it keeps pace with its machine, and waits for it."""

from __future__ import annotations

import pytest

from firmware_host import clock
from tests.system.patience import PatientClock


class Boot:
    """Stands in for the kernel's reading."""

    def __init__(self, patched: pytest.MonkeyPatch) -> None:
        self.now_s = 1000.0
        patched.setattr(clock, "_since_boot_s", lambda: self.now_s)


def test_it_runs_at_its_rate_while_it_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    boot = Boot(monkeypatch)
    patient = PatientClock(100.0, 6.0)
    before_s = patient.monotonic_s()
    for _ in range(50):
        boot.now_s += 0.05
        patient.monotonic_s()
    assert patient.monotonic_s() - before_s == pytest.approx(250.0)
    assert patient.waited_s == 0.0


def test_a_machine_that_is_away_costs_a_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    boot = Boot(monkeypatch)
    patient = PatientClock(100.0, 6.0)
    before_s = patient.monotonic_s()
    boot.now_s += 2.0
    assert patient.monotonic_s() - before_s == pytest.approx(6.0)
    assert patient.waited_s == pytest.approx(194.0)
    boot.now_s += 0.01
    assert patient.monotonic_s() - before_s == pytest.approx(7.0)
