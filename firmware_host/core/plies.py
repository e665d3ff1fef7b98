"""The plies that a job names, one by one. Pure."""

from __future__ import annotations

from firmware_host.config.schema import JobDescription


def ply_count(job: JobDescription) -> int:
    """Count the plies of a job; 0 where it names none."""
    return sum(ply.count for ply in job.plies)


def next_ply(job: JobDescription, laid: int) -> str:
    """Say what to take up next; empty where all is laid, or none is named."""
    for ply in job.plies:
        if laid < ply.count:
            return f"{ply.area_m2:g} m2 {ply.areal_weight_g_per_m2:g} g/m2"
        laid -= ply.count
    return ""
