"""A plan as the document that `plan --json` writes. Pure; the shape is fixed."""

from __future__ import annotations

from typing import Any

from firmware_host.batch.plan import Plan

SCHEMA = 1


def answer_of(plan: Plan) -> dict[str, Any]:
    """Lay out the plan; what does not apply is null."""
    batch, window = plan.batch, plan.window
    drops = batch.drops
    return {
        "schema": SCHEMA,
        "glass_g": round(batch.need.glass_g, 3),
        "resin_g": round(batch.resin_g, 3),
        "initiator_percent": round(batch.initiator_percent, 4),
        "initiator_g": round(batch.initiator_g, 4),
        "initiator_ml": round(batch.initiator_ml, 4),
        "hardener_g": None if batch.hardener_g is None else round(batch.hardener_g, 3),
        "drops": {
            "count": None if drops is None else drops.count,
            "low": None if drops is None else drops.low,
            "high": None if drops is None else drops.high,
        },
        "window": {
            "gel_min": round(window.gel_min, 2),
            "low_min": round(window.low_min, 2),
            "high_min": round(window.high_min, 2),
            "source": window.source.value,
            "jobs": window.jobs,
        },
        "gates": {
            "bag_sealed_by_min": round(window.sealed_by_min, 2),
            "last_smoothing_by_min": round(window.smoothed_by_min, 2),
        },
        "deepest_vacuum_kpa": round(plan.deepest_vacuum_kpa, 2),
        "fit_to_mix": plan.fit_to_mix,
        "reasons": [{"name": one.name, "text": one.text} for one in plan.reasons],
    }
