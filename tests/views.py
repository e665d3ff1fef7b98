"""A view of a job that has not begun, for tests that need any view at all."""

from __future__ import annotations

from firmware_host.model.events import Phase
from firmware_host.model.snapshot import View

VIEW = View(
    time_s=0.0,
    phase=Phase.PLANNED,
    phase_since_s=0.0,
    mixed_s=None,
    work_time_s=1500.0,
    latest_gel_s=None,
    usual_mark="mixed",
    channels=(),
    pressure_limit_pa=50000.0,
    drop_rule="1 inHg in 5 min",
    highest_temperature_k=333.15,
    drop_test=None,
    cure=None,
    alarms=(),
    unseen_s=0.0,
)
