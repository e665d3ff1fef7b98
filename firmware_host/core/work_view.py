"""What the work clock shows: gates, plies, cups, the dose as poured. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firmware_host.batch.checks import dose_limits
from firmware_host.config.schema import JobDescription
from firmware_host.core.plies import next_ply, ply_count
from firmware_host.model.snapshot import WorkView

if TYPE_CHECKING:
    from firmware_host.core.monitor import Monitor

SECOND_CUP_AT = 0.5
"""Of the two cups' work time: the second is mixed when half is laid, as the plan counts it."""


def show_work(monitor: Monitor) -> WorkView | None:
    """Make the view; None before anything was mixed."""
    mixed_s = monitor.cure.mixed_s
    if mixed_s is None:
        return None
    job, state, gates = monitor.job, monitor.state, monitor.cure.gates()
    two, poured = job.two_cups, state.poured_percent
    return WorkView(
        sealed_by_s=gates.sealed_by_s if gates else None,
        smoothed_by_s=gates.smoothed_by_s if gates else None,
        kick_low_s=gates.kick_low_s if gates else None,
        kick_high_s=gates.kick_high_s if gates else None,
        proven=gates is not None and gates.proven,
        plies_laid=state.plies_laid,
        plies=ply_count(job),
        next_ply=next_ply(job, state.plies_laid),
        second_cup_s=state.second_cup_s,
        second_cup_by_s=mixed_s + SECOND_CUP_AT * 60.0 * two.work_time_min if two else None,
        poured_percent=poured,
        poured_doubt="" if poured is None else dose_doubt(job, poured),
    )


def dose_doubt(job: JobDescription, percent: float) -> str:
    """Say what is wrong with a dose as poured, in a few words; empty where nothing is."""
    limits = dose_limits(job.sheet)
    if percent < limits.lowest:
        return f"under {limits.lowest:g}"
    return f"over {limits.highest:g}" if percent > limits.highest else ""
