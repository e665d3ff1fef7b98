"""Every bench by its name."""

from __future__ import annotations

from typing import Protocol

from tests.bench import (
    daemon_cpu,
    daemon_rss,
    panel_cpu,
    panel_start,
    puback,
    replay_speed,
    steady_cost,
    wire_cost,
)
from tests.bench.figures import Found


class Bench(Protocol):
    """Runs for a seed, short or in full."""

    def __call__(self, seed: int, *, full: bool) -> Found:
        """Measure."""


BENCHES: dict[str, Bench] = {
    module.NAME: module.run
    for module in (
        replay_speed,
        daemon_cpu,
        daemon_rss,
        steady_cost,
        wire_cost,
        panel_cpu,
        panel_start,
        puback,
    )
}
