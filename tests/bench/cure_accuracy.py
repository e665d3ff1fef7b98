"""Conversion, gel and forecasts of parts whose laws, losses and couples are not the file's.

Five published kinds of kinetics, solved by scipy (`tests/cure/unlike.py`); rate off by up to 35 %,
losses by 30 %. All parts together are judged; the table shows each kind of mishap by itself.
"""

from __future__ import annotations

from tests.bench.counts import Count, Counted
from tests.cure.unlike_jobs import Draw, Story, follow, stories, watched
from tests.cure.unlike_scores import HEAD, WAYS, Figures, Score, figures, score

NAME = "cure_accuracy"
NO_CUP = ("part1", "part2", "mould", "shop")
CELLS = {
    "plain": Draw(),
    "no cup": Draw(couples=NO_CUP),
    "one couple": Draw(couples=("part1", "shop")),
    "no shop couple": Draw(couples=("part1", "part2", "mould")),
    "swinging shop": Draw(couples=NO_CUP, swing_k=3.0, drift_k_per_h=1.5),
    "poured cold": Draw(couples=NO_CUP, shop_c=(5.0, 15.0)),
    "poured warm": Draw(couples=NO_CUP, shop_c=(27.0, 35.0)),
    "lamp, marked": Draw(couples=NO_CUP, lamp="marked"),
    "lamp, unmarked": Draw(couples=NO_CUP, lamp="unmarked"),
    "gap in the log": Draw(couples=NO_CUP, gap_s=2400.0),
    "a couple off": Draw(couples=NO_CUP, comes_off=True, every_s=10.0),
}
FULL_PARTS, SAMPLE_PARTS = 20, 2
SAMPLE_CELLS = ("no cup",)
SAMPLE_SLACK = 2.5
"""A few parts cannot tell one per cent from two: the sample finds what is badly broken."""
SAMPLE_HELD = 0.5
RMSE, WIDTH, GEL_MEDIAN, GEL_P90 = 0.05, 0.18, 0.03, 0.10
FORECAST = (0.27, 0.23, 0.18)
HELD, HELD_AT_MOST = 0.90, 0.99


def run(seed: int, *, full: bool) -> Counted:
    """Draw, follow and score every kind of part."""
    names = tuple(CELLS) if full else SAMPLE_CELLS
    scores: dict[str, list[Score]] = {}
    for number, name in enumerate(names):
        told = stories(CELLS[name], 1000 * seed + number, FULL_PARTS if full else SAMPLE_PARTS)
        scores[name] = [score(one, _said(one)) for one in told if one.course.gel_s > 0.0]
    whole = figures([one for cell in scores.values() for one in cell])
    lines = [HEAD, *(f"{name:<16}{figures(cell)}" for name, cell in scores.items())]
    lines.append(f"{'all':<16}{whole}")
    return Counted(name=NAME, counts=_counts(whole, full=full), lines=tuple(lines))


def _said(told: Story) -> tuple[object, ...]:
    """Only a couple that lies needs the judges of channels; they cost most of the time."""
    return follow(told).events if told.draw.comes_off else watched(told)[1]


def _counts(found: Figures, *, full: bool) -> tuple[Count, ...]:
    slack = 1.0 if full else SAMPLE_SLACK
    held = HELD if full else SAMPLE_HELD
    counts = [
        Count(what="conversion after gel, rmse", value=found.conversion_rmse, at_most=RMSE * slack),
        Count(what="its interval holds, at least", value=found.conversion_held, at_least=held),
        Count(
            what="its interval holds, at most",
            value=found.conversion_held,
            at_most=HELD_AT_MOST if full else 1.0,
        ),
        Count(
            what="its interval's mean width", value=found.conversion_width, at_most=WIDTH * slack
        ),
        Count(what="gel, median error", value=found.gel_median, at_most=GEL_MEDIAN * slack),
        Count(what="gel, 90 % of errors", value=found.gel_p90, at_most=GEL_P90 * slack),
        Count(what="gel's interval holds", value=found.gel_held, at_least=held),
    ]
    for way, bound, error, covers in zip(
        WAYS, FORECAST, found.forecast_error, found.forecast_held, strict=True
    ):
        counts += [
            Count(what=f"forecast at {way:.2f}, error", value=error, at_most=bound * slack),
            Count(what=f"forecast at {way:.2f}, interval holds", value=covers, at_least=held),
        ]
    return tuple(counts)
