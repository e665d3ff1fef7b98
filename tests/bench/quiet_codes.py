"""Hours of a channel far quieter than its step: none is called stuck, and it is said why not.

A level wanders slowly over codes of a 0.25 K converter with noise of 0.05 of a step, once a second.
It toggles where it lies on an edge and then shows one code for hours. A channel with noise of its
step that truly sticks is the other side: it must be named within 300 readings.
"""

from __future__ import annotations

import numpy as np

from firmware_host.core.channel_watch import ChannelWatch
from firmware_host.model.channels import channel_named
from tests.bench.counts import Count, Counted

NAME = "quiet_codes"
STEP_K = 0.25
QUIET, LIVELY = 0.05, 1.0
"""Noise in steps."""
WANDER_STEPS_PER_S = 0.002
SPAN_H, FULL_SPANS, SAMPLE_SPANS = 10, 100, 1
STUCK_FULL, STUCK_SAMPLE = 200, 5
LEARNT, WITHIN = 1200, 300


def run(seed: int, *, full: bool) -> Counted:
    """Watch, and count."""
    rng = np.random.default_rng(seed)
    spans = FULL_SPANS if full else SAMPLE_SPANS
    told = [_quiet_span(rng) for _ in range(spans)]
    stuck = STUCK_FULL if full else STUCK_SAMPLE
    found = [_stuck_after(rng) for _ in range(stuck)]
    missed = sum(readings is None or readings > WITHIN for readings in found)
    slowest = max((readings for readings in found if readings is not None), default=0)
    return Counted(
        name=NAME,
        counts=(
            Count(what="hours at noise of 0.05 of a step", value=float(spans * SPAN_H)),
            Count(what="false faults in them", value=sum(faults for faults, _ in told), at_most=0),
            Count(
                what="spans that say that a stuck code cannot be told",
                value=sum(said for _, said in told),
                at_least=spans,
            ),
            Count(what="channels that stuck at noise of a step", value=stuck),
            Count(what="of them not named within 300 readings", value=missed, at_most=0),
            Count(what="readings that the slowest took", value=slowest),
        ),
    )


def _shown(rng: np.random.Generator, readings: int, noise_steps: float) -> list[float]:
    level = rng.uniform(0.0, 1.0) + np.cumsum(rng.normal(size=readings) * WANDER_STEPS_PER_S)
    codes = np.round(level + noise_steps * rng.normal(size=readings))
    return [293.0 + STEP_K * float(code) for code in codes]


def _quiet_span(rng: np.random.Generator) -> tuple[int, bool]:
    """Give the faults of ten hours, and whether the channel said that it is too quiet."""
    watch, faults, says_so = ChannelWatch(channel_named("part1"), 0.0), 0, False
    for second, value in enumerate(_shown(rng, SPAN_H * 3600, QUIET)):
        now_s = float(second)
        watch.take(now_s, value, None)
        change = watch.look(now_s, 1.0)
        faults += change is not None and change.end_s is None
        learnt = watch.learnt(now_s)
        says_so = says_so or (learnt is not None and not learnt.tells_stuck)
    return faults, says_so


def _stuck_after(rng: np.random.Generator) -> int | None:
    """Give the readings until a lively channel that sticks is named."""
    watch = ChannelWatch(channel_named("part1"), 0.0)
    values = _shown(rng, LEARNT, LIVELY)
    for second, value in enumerate([*values, *[values[-1]] * (4 * WITHIN)]):
        watch.take(float(second), value, None)
        change = watch.look(float(second), 1.0)
        if change is not None:
            return second - LEARNT + 1 if second >= LEARNT else None
    return None
