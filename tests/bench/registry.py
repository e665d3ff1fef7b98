"""Every bench by its name."""

from __future__ import annotations

from typing import Protocol

from tests.bench import (
    arrival_cost,
    convert_cost,
    cure_accuracy,
    cure_states,
    cure_strangers,
    daemon_cpu,
    daemon_rss,
    drop_tests,
    flow_alarms,
    flow_curves,
    fuzz,
    gel_tables,
    integral_speed,
    learning_shops,
    learning_speed,
    panel_cpu,
    panel_start,
    plan_speed,
    puback,
    quality_cost,
    quiet_codes,
    quiet_night,
    record_bits,
    record_costs,
    record_disk,
    record_kill,
    record_power_cut,
    replay_speed,
    report_24h,
    sensor_faults,
    signatures,
    steady_cost,
    wire_cost,
)


class Result(Protocol):
    """What a bench found."""

    @property
    def name(self) -> str:
        """The bench's name."""

    @property
    def is_met(self) -> bool:
        """Whether it lies within its goal."""

    def holds(self, slack: float) -> bool:
        """Whether a short run does, give or take `slack` where a figure is a speed."""

    def table(self) -> str:
        """Lay it out for a person."""


class Bench(Protocol):
    """Runs for a seed, short or in full."""

    def __call__(self, seed: int, *, full: bool) -> Result:
        """Measure."""


BENCHES: dict[str, Bench] = {
    module.NAME: module.run
    for module in (
        replay_speed,
        daemon_cpu,
        daemon_rss,
        steady_cost,
        wire_cost,
        convert_cost,
        arrival_cost,
        panel_cpu,
        panel_start,
        puback,
        report_24h,
        fuzz,
        quality_cost,
        quiet_codes,
        sensor_faults,
        plan_speed,
        learning_speed,
        learning_shops,
        gel_tables,
        integral_speed,
        drop_tests,
        flow_alarms,
        cure_accuracy,
        cure_states,
        cure_strangers,
        flow_curves,
        record_power_cut,
        record_bits,
        record_costs,
        quiet_night,
        record_disk,
        record_kill,
        signatures,
    )
}
