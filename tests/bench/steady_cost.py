"""Whether a sample costs more late in a job than early."""

from __future__ import annotations

from tests.bench.feed import PERIOD_S, Feed, Judge, healthy
from tests.bench.figures import Found, Goal, Pair

NAME = "steady_cost"
GOAL = Goal(ratio=1.05)
HOUR_S = 3600.0
SLICE_S = 60.0
FULL_HOURS, SAMPLE_HOURS = 24.0, 5.0
FULL_TURNS, SAMPLE_TURNS = 15, 9
HURRIED_S = 0.9
"""Between samples of the sample's way to the late hour: as rare as they may be unblanked."""


def _at_hour(seed: int, hours: float, turns: int, *, full: bool) -> tuple[Judge, Feed]:
    """Bring a judge to half the turns before an hour of a job whose vacuum stays on."""
    end_s = hours * HOUR_S + turns * SLICE_S
    scenario = healthy(seed, end_s, released=False)
    feed, judge = Feed(scenario), Judge(scenario)
    begin_s, period_s = hours * HOUR_S - turns * SLICE_S / 2.0, PERIOD_S if full else HURRIED_S
    at_s = 0.0
    while at_s < begin_s - SLICE_S:  # by stretches: a day's bytes need not lie in memory at once
        at_s = min(at_s + HOUR_S, begin_s - SLICE_S)
        judge.take(feed.until(at_s, period_s))
    judge.take(feed.until(begin_s))
    return judge, feed


def run(seed: int, *, full: bool) -> Found:
    """Take slices early and late in turns."""
    hours, turns = (FULL_HOURS, FULL_TURNS) if full else (SAMPLE_HOURS, SAMPLE_TURNS)
    early, early_feed = _at_hour(seed, 1.0, turns, full=full)
    late, late_feed = _at_hour(seed, hours, turns, full=full)
    pairs = []
    for turn in range(1, turns + 1):
        offset_s = (turn - turns / 2.0) * SLICE_S
        early_given = early_feed.until(1.0 * HOUR_S + offset_s)
        late_given = late_feed.until(hours * HOUR_S + offset_s)
        late_taken, early_taken = late.take(late_given), early.take(early_given)
        pairs.append(
            Pair(
                ours=1e6 * late_taken.cpu_s / late_taken.samples,
                peer=1e6 * early_taken.cpu_s / early_taken.samples,
            )
        )
    return Found(
        name=NAME,
        ours=f"CPU time of decoder and core for a sample around hour {hours:g}, us",
        peer="the same around hour 1, us",
        goal=GOAL,
        pairs=tuple(pairs),
    )
