"""A span without readings: each batch warms by its own heat from where it stood.

Pure. A line between the two ends would leave out a kick that came and went in between. Nobody knows
how warm it was: the members are spread by more doubt the longer it lasted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from firmware_host.cure.evidence import Array
from firmware_host.cure.foresee import HOTTEST_K, Standing
from firmware_host.cure.heat import Nodes, warm
from firmware_host.physics.kinetics import Progress, advance

DOUBT_K_PER_S, LARGEST_DOUBT_K = 1.0 / 600.0, 4.0
"""1 K more doubt for every ten minutes, up to 4 K."""
STEP_S, MOST_STEPS, PIECES = 60.0, 720, 2


@dataclass(frozen=True, slots=True)
class Step:
    """One step of every member; its start and length in s."""

    start_s: float
    span_s: float
    part: Progress
    nodes: Nodes


def steps_in(span_s: float) -> int:
    """Count the steps that a span takes: one a minute, up to half a day."""
    return min(math.ceil(span_s / STEP_S), MOST_STEPS)


def warmed_unseen(
    standing: Standing, rooms_k: tuple[float, float], place: Array, start_s: float, span_s: float
) -> Iterator[Step]:
    """Let the members go on for a span (s) in a room that goes from one temperature to another (K).

    `place` says, in standard deviations, how much warmer than by its own heat each member is.
    """
    bank, part, nodes = standing.bank, standing.part, standing.nodes
    steps = steps_in(span_s)
    step_s = span_s / steps
    unseen_k = place * min(DOUBT_K_PER_S * span_s, LARGEST_DOUBT_K)
    still = np.zeros_like(part.conversion)
    for number in range(steps):
        warm_k = np.clip(nodes.laminate_k + unseen_k, None, HOTTEST_K)
        later = advance(bank.kinetics, part, warm_k, warm_k, step_s, PIECES)
        room_k = rooms_k[0] + (rooms_k[1] - rooms_k[0]) * (number + 0.5) / steps
        nodes = warm(bank, nodes, room_k, later.conversion - part.conversion, still, step_s)
        part = later
        yield Step(start_s + number * step_s, step_s, part, nodes)
