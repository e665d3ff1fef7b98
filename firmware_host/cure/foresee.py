"""The living members let run ahead at one room temperature: what they come to, and when.

Pure. A hundred members, drawn by weight, stand for the bank; each warms by its own heat from where
it stands. For questions that are asked now and then, not for every block.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from firmware_host.cure.evidence import Array
from firmware_host.cure.heat import Nodes, at_temperature, warm
from firmware_host.cure.population import Population
from firmware_host.physics.kinetics import Kinetics, Progress, advance, at_mixing

AHEAD_MEMBERS = 96
STEP_S, PIECES = 60.0, 4
HOTTEST_K = 423.15
"""150 degC: hotter, a laminate cures within a block. A couple that lies must not cost more work."""
PART = (
    "mould_j_per_m2k",
    "loss_top_w_per_m2k",
    "loss_back_w_per_m2k",
    "contact_w_per_m2k",
    "heat_j_per_m2",
    "bead",
)
"""What of a member is the part's and its couple's, not the resin's pace."""
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Standing:
    """Where every member of a bank stands."""

    bank: Population
    part: Progress
    nodes: Nodes


@dataclass(frozen=True, slots=True)
class Ahead:
    """The run ahead; rows are moments one step apart, columns members."""

    after_s: Array
    laminate_k: Array
    mould_k: Array
    conversion: Array


def drawn(standing: Standing, weight: Array) -> Standing:
    """Draw members by weight, evenly: the same ones on every run."""
    marks = (np.arange(AHEAD_MEMBERS) + 0.5) / AHEAD_MEMBERS
    members = np.minimum(np.searchsorted(np.cumsum(weight), marks), len(weight) - 1)
    part, nodes = standing.part, standing.nodes
    return Standing(
        _bank_of(standing.bank, members),
        Progress(part.inhibitor[members], part.conversion[members]),
        Nodes(nodes.laminate_k[members], nodes.mould_k[members], nodes.cup_k[members]),
    )


def fresh(bank: Population, room_k: float) -> Standing:
    """Every member just mixed, everything at room temperature."""
    members = len(bank.bead)
    return Standing(bank, at_mixing(bank.kinetics), at_temperature(room_k, room_k, room_k, members))


def run_ahead(standing: Standing, room_k: float, span_s: float, step_s: float = STEP_S) -> Ahead:
    """Let the members go on in a room of one temperature."""
    bank, part, nodes = standing.bank, standing.part, standing.nodes
    still = np.zeros_like(part.conversion)
    rows = [(nodes.laminate_k, nodes.mould_k, part.conversion)]
    steps = max(1, int(np.ceil(span_s / step_s)))
    for _ in range(steps):
        warm_k = np.minimum(nodes.laminate_k, HOTTEST_K)
        later = advance(bank.kinetics, part, warm_k, warm_k, step_s, PIECES)
        nodes = warm(bank, nodes, room_k, later.conversion - part.conversion, still, step_s)
        part = later
        rows.append((nodes.laminate_k, nodes.mould_k, part.conversion))
    laminate_k, mould_k, conversion = (np.array(column) for column in zip(*rows, strict=True))
    after_s = np.arange(steps + 1, dtype=np.float64) * step_s
    return Ahead(after_s, laminate_k, mould_k, conversion)


def shown_rise_k(bank: Population, room_k: float, span_s: float) -> float:
    """Rise that nine of ten batches as slow as this one may be would show, or more.

    On the file's own part, with a couple that sits as usual: thin, cold and slow hide a kick for
    good, a couple that sits badly is one of many.
    """
    healthy = np.where(bank.usual, 1.0, 0.0)
    some = drawn(fresh(bank, room_k), healthy / np.sum(healthy))
    middle: dict[str, Any] = {
        name: np.full(AHEAD_MEMBERS, np.median(getattr(bank, name))) for name in PART
    }
    ahead = run_ahead(replace(some, bank=replace(some.bank, **middle)), room_k, span_s)
    rise = middle["bead"] * np.max(ahead.laminate_k - room_k, axis=0)
    return float(np.quantile(rise, 0.10))


def _bank_of(bank: Population, members: Indices) -> Population:
    kinetics: Kinetics = replace(bank.kinetics, **_columns(bank.kinetics, members))
    return replace(bank, kinetics=kinetics, **_columns(bank, members))


def _columns(record: Population | Kinetics, members: Indices) -> dict[str, Any]:
    """Take the columns of some members from every array of a record."""
    values = {field.name: getattr(record, field.name) for field in fields(record)}
    return {name: v[members] for name, v in values.items() if isinstance(v, np.ndarray)}
