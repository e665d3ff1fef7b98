"""Many holds drawn at random from what goes wrong at a bench, and how well each was called.

Leaks from 0.05 to 600 times the limit that step or creep, wet cloth, warming gas, a pinched hose, a
worn, hot, unplugged or leaking-back pump, gauges of every noise; half of the benches have a gauge
at the pump. Leaks between 0.8 and 1.25 times the limit are not drawn.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from tests.vacuum.bench_bags import Hold, Outcome, always, creep, run, step


@dataclass(frozen=True, slots=True, kw_only=True)
class Dice:
    """What a kind may need, drawn in the same order for every kind."""

    at_s: float
    over_s: float
    small: float
    """A leak of 0.05 to 0.5 times the limit."""
    size: float
    """A leak of 1.25 to 600 times the limit."""
    share: float


def _grown(base: Hold, dice: Dice, *, creeps: bool, cycles: bool) -> Hold:
    limit, onset_s = base.limit_pa_per_s, dice.at_s
    leak = step(dice.at_s, dice.small, dice.size)
    if creeps:
        leak = creep(dice.at_s, dice.small, dice.size, dice.over_s)
        onset_s += dice.over_s * (limit - dice.small) / (dice.size - dice.small)
    return replace(base, leak=leak, band_pa=BAND_PA if cycles else None, onset_s=onset_s)


def _pumped(base: Hold, dice: Dice) -> Hold:
    """Leave the pump running, the leak small."""
    return replace(base, leak=always(dice.small), band_pa=None, onset_s=dice.at_s)


def _warming(base: Hold, dice: Dice) -> Hold:
    del dice

    def laminate_k(t: float) -> float:
        return 293.15 + 45.0 * math.exp(-(((t - 6000.0) / 700.0) ** 2))

    return replace(base, warming_k=laminate_k)


def _wet(base: Hold, dice: Dice) -> Hold:
    wet = (0.3 + 1.2 * dice.share) * base.limit_pa_per_s
    return replace(base, wet_pa_per_s=wet, settling_pa=500.0 + 1000.0 * dice.share)


def _small(base: Hold, dice: Dice) -> Hold:
    return replace(base, leak=step(dice.at_s, dice.small, 0.8 * base.limit_pa_per_s))


def _stopped(base: Hold, dice: Dice) -> Hold:
    return replace(_pumped(base, dice), pulls=step(dice.at_s, 1.0, 0.0))


def _back(base: Hold, dice: Dice) -> Hold:
    return replace(_stopped(base, dice), back_pa_per_s=always(5.0 * 120.0**dice.share))


def _worn(base: Hold, dice: Dice) -> Hold:
    return replace(
        _pumped(base, dice),
        pulls=step(dice.at_s, 1.0, 0.15 + 0.35 * dice.share),
        ultimate_pa=step(dice.at_s, 1900.0, 3000.0 + 9000.0 * dice.share),
    )


def _hot(base: Hold, dice: Dice) -> Hold:
    reached_pa = 4000.0 + 8000.0 * dice.share
    ultimate = creep(dice.at_s, 1900.0, reached_pa, dice.over_s)
    return replace(_pumped(base, dice), ultimate_pa=ultimate)


def _cycling(of: Callable[[Hold, Dice], Hold]) -> Callable[[Hold, Dice], Hold]:
    return lambda base, dice: replace(of(base, dice), band_pa=BAND_PA)


def _drifting(base: Hold, dice: Dice) -> Hold:
    drift = 0.1 * 10.0**dice.share * (1.0 if dice.over_s > 1500.0 else -1.0)
    return replace(base, drift_pa_per_s=step(dice.at_s, 0.0, drift))


def _pinched(base: Hold, dice: Dice) -> Hold:
    return replace(_pumped(base, dice), pinch=step(dice.at_s, 1.0, 0.0))


BAND_PA = (4000.0, 8000.0)
HEALTHY: dict[str, Callable[[Hold, Dice], Hold]] = {
    "healthy": lambda base, _: base,
    "wet": _wet,
    "warming": _warming,
    "small leak": _small,
    "noise x10": lambda base, _: replace(base, sigma_pa=10.0 * base.sigma_pa),
    "drifting gauge": _drifting,
}
LEAKS: dict[str, Callable[[Hold, Dice], Hold]] = {
    "leak step": lambda base, dice: _grown(base, dice, creeps=False, cycles=False),
    "leak creep": lambda base, dice: _grown(base, dice, creeps=True, cycles=False),
    "leak step, cycling": lambda base, dice: _grown(base, dice, creeps=False, cycles=True),
    "leak creep, cycling": lambda base, dice: _grown(base, dice, creeps=True, cycles=True),
}
TROUBLES: dict[str, Callable[[Hold, Dice], Hold]] = {
    "unplugged": _stopped,
    "back flow": _back,
    "worn": _worn,
    "hot": _hot,
    "pinched": _pinched,
    "unplugged, cycling": _cycling(_stopped),
    "pinched, cycling": _cycling(_pinched),
}
KINDS = (*HEALTHY, *LEAKS, *TROUBLES)


def draw(kind: str, seed: int) -> Hold:
    """Draw a hold of a kind."""
    rng = np.random.default_rng([77, seed, zlib.crc32(kind.encode())])
    base = _bench(rng, seed)
    limit = base.limit_pa_per_s
    dice = Dice(
        at_s=float(rng.uniform(3600.0, 5400.0)),
        over_s=float(rng.uniform(600.0, 2400.0)),
        small=float(rng.uniform(0.05, 0.5)) * limit,
        size=float(np.exp(rng.uniform(math.log(1.25), math.log(600.0)))) * limit,
        share=float(rng.uniform()),
    )
    if kind in HEALTHY:
        return replace(HEALTHY[kind](base, dice), hours=6.0)
    if kind in LEAKS:
        return replace(LEAKS[kind](base, dice), expected=("bag_leaking",))
    return replace(TROUBLES[kind](base, dice), expected=("pump_trouble",))


def _bench(rng: np.random.Generator, seed: int) -> Hold:
    hose, pump = float(rng.uniform(2.0, 10.0)), float(rng.uniform(3.0, 15.0))
    wander = ((25.0, 100.0), (15.0, 600.0), (20.0, 300.0))[rng.integers(3)]
    return Hold(
        seed=seed,
        hours=3.0,
        limit_pa_per_s=(3.3, 11.288)[rng.integers(2)],
        settling_pa=float(rng.uniform(50.0, 800.0)),
        settling_s=float(rng.uniform(20.0, 200.0)),
        hose_s=hose,
        pump_s=pump,
        side_share=float(rng.uniform(0.1, 0.6)),
        sigma_pa=(10.0, 28.0, 40.0)[rng.integers(3)],
        code_pa=(0.1, 26.9)[rng.integers(2)],
        wander_pa=wander[0],
        wander_s=wander[1],
        band_pa=(4000.0, 8000.0) if rng.uniform() < 0.4 else None,
        has_pump_gauge=bool(rng.integers(2)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How one hold was called."""

    kind: str
    hours: float
    delay_s: float | None
    """Of the expected alarm; None where it was missed or none was expected."""
    false: tuple[str, ...]


def score(kind: str, said: Outcome) -> Score:
    """Hold what was said against what was true."""
    hold = said.hold
    allowed = {"vacuum_lost", "sensor_fault", *hold.expected}
    false = [a.name for a in said.alarms if a.state.value == "active" and a.name not in allowed]
    delays = [t - hold.onset_s for name in hold.expected for t in said.raised(name)]
    false += [name for name in hold.expected for t in said.raised(name) if t < hold.onset_s]
    good = [delay for delay in delays if delay >= 0.0]
    return Score(kind=kind, hours=hold.hours, delay_s=good[0] if good else None, false=tuple(false))


def campaign(kinds: Sequence[str], seeds: range) -> list[Score]:
    """Draw and run each kind with every seed."""
    return [score(kind, run(draw(kind, seed))) for kind in kinds for seed in seeds]


def summary(scores: list[Score]) -> list[str]:
    """Lay a campaign out for a person."""
    lines = [f"{'kind':<20} {'holds':>5} {'called':>6} {'median s':>8} {'p90 s':>7} {'false':>5}"]
    for kind in dict.fromkeys(one.kind for one in scores):
        mine = [one for one in scores if one.kind == kind]
        lines.append(_row(kind, mine, expected=kind not in HEALTHY))
    hours = sum(one.hours for one in scores)
    false = sum(len(one.false) for one in scores)
    lines.append(_row("all alarms", [o for o in scores if o.kind not in HEALTHY], expected=True))
    lines.append(f"false alarms: {false} in {hours:.0f} h, {false * 24.0 / hours:.2f} in 24 h")
    return lines


def _row(name: str, mine: list[Score], *, expected: bool) -> str:
    false = sum(len(one.false) for one in mine)
    if not expected or not mine:
        return f"{name:<20} {len(mine):>5} {'-':>6} {'-':>8} {'-':>7} {false:>5}"
    delays = sorted(math.inf if one.delay_s is None else one.delay_s for one in mine)
    called = sum(delay < math.inf for delay in delays)
    p90 = delays[min(math.ceil(0.9 * len(delays)) - 1, len(delays) - 1)]
    return f"{name:<20} {len(mine):>5} {called:>6} {median(delays):>8.0f} {p90:>7.0f} {false:>5}"
