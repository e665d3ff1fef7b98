"""Jobs about parts of foreign kinetics: what the file says, what the couples show, what is said.

The file is nominal: induction and growth rate are read off the nominal batch's course at 25 degC,
as a cup or a sheet would give them. The part behind it is off by up to 35 % in rate, 30 % in
losses, 8 % in dose, in activation energy and in the shape of its law.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.core.cure_watch import CureEvent, CureWatch
from firmware_host.core.foresight import Foresight, Scene
from firmware_host.core.monitor import Monitor
from firmware_host.cure.filter import CureFilter
from firmware_host.model.channels import channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, CureState, Event
from firmware_host.model.samples import Frame, Group, Mark, Reason
from firmware_host.replay import Said, gather
from tests.cure.unlike import LAWS, Array, Course, Part, run, shop_at

COUPLES = ("part1", "part2", "mould", "shop", "cup")
BEFORE_S = 300.0
"""The log begins this long before the pour."""
STEP_K = 0.25
NEVER_S = 1e9
JOB = """
[job]
part = "kayak hatch cover"
{dose}
[resin]
family = "{family}"
initiator_reference_percent = {reference}
induction_min_at_25c = {induction_min:.2f}
rate_at_25c_per_s = {rate:.3e}
seed_fraction = {seed}
order_m = {m}
order_n = {n}
gel_conversion = {gel}
heat_of_cure_kj_per_kg = {heat:.0f}
conversion_limit_at_20c = {limit:.3f}
[laminate]
thickness_mm = {thickness:.2f}
resin_mass_fraction = 0.58
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """What kind of parts to draw."""

    laws: tuple[str, ...] = LAWS
    known_sd: float = 0.35
    """What the job believes of its own rate: 0.15 once cups have been learnt from."""
    rate_ln: float = 0.35
    slower: float = 1.0
    half_dose: bool = False
    never: bool = False
    dies: bool = False
    beads: tuple[float, float] = (0.75, 1.0)
    couples: tuple[str, ...] = COUPLES
    shop_c: tuple[float, float] = (17.0, 26.0)
    swing_k: float = 0.6
    drift_k_per_h: float = 0.7
    thickness_mm: tuple[float, float] = (2.5, 6.0)
    lamp: str = ""
    """"marked", "unmarked" or nothing."""
    lamp_from_h: tuple[float, float] = (0.3, 1.3)
    lamp_for_s: tuple[float, float] = (900.0, 3600.0)
    lamp_w_per_m2: tuple[float, float] = (60.0, 160.0)
    gap_s: float = 0.0
    """Rows missing from the log, somewhere about the gel."""
    comes_off: bool = False
    """part1 lets go at the gel or within the hour after it."""
    until_gels: float = 3.0
    every_s: float = 20.0
    """Between the rows of the log."""
    longest_s: float = 30000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """One part with its job file and its log."""

    draw: Draw
    part: Part
    course: Course
    job: JobDescription
    rows: Array
    """Columns: time of the log, then the couples in K; nan where nothing was read."""
    marks: tuple[tuple[float, str], ...]


NOMINAL = {
    "trapped": (1500.0, 1.0e-3),
    "kamal": (1500.0, 1.1e-3),
    "ceiling": (1500.0, 1.1e-3),
    "retarded": (1300.0, 1.0e-3),
    "amine": (0.0, 6.0e-4),
}
"""Life of the inhibitor, s, and growth, 1/s, at 25 degC of each law's middle batch."""


def nominal(law: str) -> Part:
    """Middle batch of a law."""
    clock_s, growth = NOMINAL[law]
    epoxy = law == "amine"
    return Part(
        law=law,
        clock_s=clock_s,
        growth_per_s=growth,
        gel_conversion=0.5 if epoxy else 0.05,
        heat_j_per_kg=430e3 if epoxy else 340e3,
    )


@cache
def file_of(law: str) -> dict[str, object]:
    """Read the file's kinetics off the middle batch: at 25 degC, and its end at 20 degC."""
    base = replace(nominal(law), heat_j_per_kg=1.0, thickness_mm=0.01, shop_k=298.15)
    course = run(base, 40000.0)
    end = run(replace(base, shop_k=293.15), 90000.0, 60.0).conversion[-1]
    epoxy = law == "amine"
    seed, m, n = (0.05, 1.0, 2.0) if epoxy else (0.03, 0.8, 1.4)
    gel = base.gel_conversion
    alpha = np.linspace(0.0, 0.6, 6001)
    inverse = 1.0 / ((seed + alpha**m) * (1.0 - alpha) ** n)
    theta = np.concatenate([[0.0], np.cumsum(0.5 * (inverse[1:] + inverse[:-1]) * 1e-4)])
    later_s = float(np.interp(gel + 0.3, course.conversion, course.time_s)) if not epoxy else 0.0
    if epoxy:
        rate, induction_s = float(np.interp(gel, alpha, theta)) / course.gel_s, 0.0
    else:
        at = np.interp([gel, gel + 0.3], alpha, theta)
        rate = float(at[1] - at[0]) / (later_s - course.gel_s)
        induction_s = max(course.gel_s - float(at[0]) / rate, 60.0)
    return {
        "family": "epoxy" if epoxy else "vinylester" if law == "ceiling" else "polyester",
        "reference": 0.0 if epoxy else 1.5,
        "induction_min": induction_s / 60.0,
        "rate": rate,
        "seed": seed,
        "m": m,
        "n": n,
        "gel": gel,
        "heat": base_heat(law),
        "limit": min(float(end), 0.95),
    }


def base_heat(law: str) -> float:
    """Heat of cure of the middle batch, kJ/kg."""
    return nominal(law).heat_j_per_kg / 1000.0


def stories(draw: Draw, seed: int, count: int) -> Iterator[Story]:
    """Draw parts, one law after the other."""
    for number in range(count):
        yield story(draw, draw.laws[number % len(draw.laws)], [seed, number])


def story(draw: Draw, law: str, seed: list[int]) -> Story:
    """Draw one part, let it cure and read its couples."""
    rng = np.random.default_rng(seed)
    middle = nominal(law)
    thickness = rng.uniform(*draw.thickness_mm)
    nominal_s = math.exp(rng.uniform(-0.3, 0.3))
    rate = math.exp(rng.uniform(-draw.rate_ln, draw.rate_ln)) / draw.slower
    dose = math.exp(0.08 * rng.normal()) * (0.5 if draw.half_dose else 1.0)
    clock_s = middle.clock_s * nominal_s / (rate * dose**0.8) * math.exp(0.12 * rng.normal())
    if law == "amine":
        dose = 1.0
    growth = middle.growth_per_s / nominal_s * rate * dose**0.5 * math.exp(0.12 * rng.normal())
    lit_s = rng.uniform(*draw.lamp_from_h) * 3600.0
    part = replace(
        middle,
        clock_s=NEVER_S if draw.never and law != "amine" else clock_s,
        growth_per_s=growth * (1e-6 if draw.never else 1.0),
        clock_j_per_mol=rng.uniform(48e3, 60e3),
        growth_j_per_mol=rng.uniform(42e3, 52e3),
        heat_j_per_kg=middle.heat_j_per_kg * math.exp(0.1 * rng.normal()),
        thickness_mm=thickness * rng.uniform(0.95, 1.05),
        loss=rng.uniform(0.7, 1.3),
        contact_w_per_m2k=110.0 * rng.uniform(0.7, 1.3),
        mould_j_per_m2k=16e3 * rng.uniform(0.8, 1.2),
        cup_kg=0.18 * rng.uniform(0.9, 1.1),
        ahead_k=5.0 * rng.normal(),
        dies_at=rng.uniform(0.08, 0.35) if draw.dies else 2.0,
        shop_k=273.15 + rng.uniform(*draw.shop_c),
        poured_k=rng.uniform(-2.0, 2.0),
        drift_k_per_h=draw.drift_k_per_h * rng.uniform(-1.0, 1.0),
        swing_k=rng.uniform(0.0, draw.swing_k),
        swing_s=rng.uniform(0.8, 3.0) * 3600.0,
        lamp_w_per_m2=rng.uniform(*draw.lamp_w_per_m2) if draw.lamp else 0.0,
        lamp_s=(lit_s, lit_s + rng.uniform(*draw.lamp_for_s)),
    )
    said = file_of(law)
    induction, k = float(str(said["induction_min"])), float(str(said["rate"]))
    text = JOB.format(
        **{**said, "induction_min": induction * nominal_s, "rate": k / nominal_s},
        thickness=thickness,
        dose="" if law == "amine" else "initiator_percent = 1.5",
    )
    text += "[cup]\nresin_g = 180.0\n" if "cup" in draw.couples else ""
    job = parse_job(text, "job.toml")
    expected_s = file_gel_s(job, part.shop_k) * draw.slower
    until_s = min(draw.until_gels * expected_s + 5400.0, draw.longest_s)
    course = run(part, until_s, draw.every_s)
    gel_s = expected_s if math.isnan(course.gel_s) else course.gel_s
    blind_s = gel_s + rng.uniform(-0.8, 0.3) * draw.gap_s
    off_s = gel_s + rng.uniform(0.0, 3600.0)
    rows = _read(draw, course, part, rng, (max(blind_s, 60.0), off_s))
    marks = [(BEFORE_S, "mixed")]
    if draw.lamp == "marked":
        marks += [
            (BEFORE_S + part.lamp_s[0] + 20.0, "heat_on"),
            (BEFORE_S + part.lamp_s[1] + 20.0, "heat_off"),
        ]
    known = replace(job, resin=replace(job.resin, ln_rate_sd=draw.known_sd))
    return Story(draw=draw, part=part, course=course, job=known, rows=rows, marks=tuple(marks))


def file_gel_s(job: JobDescription, temp_k: float) -> float:
    """Gel of the file's own numbers at one temperature, near enough to choose a log's length."""
    over = (1.0 / temp_k - 1.0 / 298.15) / 8.314462618
    alpha = np.linspace(0.0, job.resin.gel_conversion, 400)
    grown = np.trapezoid(1.0 / (job.resin.seed_fraction + alpha**job.resin.order_m), alpha)
    growth_s = float(grown) / job.resin.rate_at_25c_per_s * math.exp(46e3 * over)
    return job.resin.induction_min_at_25c * 60.0 * math.exp(52e3 * over) + growth_s


def _read(
    draw: Draw, course: Course, part: Part, rng: np.random.Generator, at: tuple[float, float]
) -> Array:
    """Rows of the log: a quiet start, then the course as the couples show it."""
    blind_s, off_s = at
    quiet = np.arange(0.0, BEFORE_S, draw.every_s) - BEFORE_S
    time_s = np.concatenate([quiet, course.time_s])
    shop = shop_at(part, time_s)
    place = {
        "part1": course.laminate_k,
        "part2": course.laminate_k,
        "mould": course.mould_k,
        "shop": course.shop_k,
        "cup": course.cup_k,
    }
    columns = [time_s + BEFORE_S]
    for name in draw.couples:
        true_k = np.concatenate([shop[: len(quiet)], place[name]])
        bead = rng.uniform(*draw.beads) if name.startswith("part") else 1.0
        shown = shop + bead * (true_k - shop)
        if draw.comes_off and name == "part1":
            fallen = np.clip((time_s - off_s) / 30.0, 0.0, None)
            shown = np.where(fallen > 0.0, shop + (shown - shop) * np.exp(-fallen), shown)
        shown = shown + rng.normal(0.0, 0.5) + rng.normal(0.0, 0.06, len(shown))
        columns.append(np.round(shown / STEP_K) * STEP_K)
    rows = np.array(columns).T
    missing = (time_s >= blind_s) & (time_s < blind_s + draw.gap_s)
    return np.asarray(rows[~missing])


class NoLooks(Foresight):
    """Looks ahead are for a person and move no state; without them a log takes a third less."""

    def look(self, batches: CureFilter, scene: Scene) -> None:
        """See nothing."""


def watched(
    told: Story, until: frozenset[CureState] = frozenset()
) -> tuple[CureWatch, tuple[CureEvent, ...], tuple[CureState, ...]]:
    """Take the log through the judge of the resin alone: all that it said, and its states.

    It ends early in a state that answers all that is asked.
    """
    watch = CureWatch(told.job, tuple(channel_named(name).role for name in told.draw.couples))
    heat = [at_s for at_s, name in told.marks if name.startswith("heat")]
    said: list[CureEvent] = []
    states = [CureState.WAITING]
    time_s = 0.0
    for row in told.rows:
        time_s = float(row[0])
        if watch.mixed_s is None and time_s >= BEFORE_S:
            watch.begin(BEFORE_S, time_s, provisional=False)
            watch.story.foresight = NoLooks(told.job)
        watch.heated = bool(heat) and heat[0] <= time_s < heat[1]
        temps = tuple(None if math.isnan(v) else float(v) for v in row[1:])
        said += watch.block(time_s, temps)
        if watch.state is not states[-1]:
            states.append(watch.state)
        if watch.state in until:
            break
    said += watch.finish(time_s)
    return watch, tuple(said), tuple(states)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What the core said of one job."""

    document: dict[str, object]
    alarms: frozenset[str]
    monitor: Monitor
    events: tuple[Event, ...]


def follow(told: Story, until: frozenset[CureState] = frozenset()) -> Heard:
    """Take the log through the whole core, channels and alarms and all.

    It ends early in a state that answers all that is asked, once a fault was heard.
    """
    group = Group("log", tuple(channel_named(name) for name in told.draw.couples), None)
    monitor = Monitor(told.job, (group,))
    said: list[Said] = []
    marks, faulty = list(told.marks), False
    for row in told.rows:
        while marks and marks[0][0] <= row[0]:
            at_s, name = marks.pop(0)
            mark = Mark(at_s, name, float(row[0]))
            said.append(Said(given=mark, events=tuple(monitor.step(mark))))
        values = tuple(None if math.isnan(v) else round(float(v), 3) for v in row[1:])
        reasons = tuple(Reason.NOT_READ if v is None else None for v in values)
        frame = Frame(round(float(row[0]), 3), 0, values, reasons)
        said.append(Said(given=frame, events=tuple(monitor.step(frame))))
        faulty |= any(_raises(event, "sensor_fault") for event in said[-1].events)
        if faulty and monitor.cure.state in until:
            break
    said.append(Said(given=None, events=tuple(monitor.finish())))
    events = tuple(event for word in said for event in word.events)
    raised = frozenset(
        e.name for e in events if isinstance(e, AlarmChanged) and e.state is AlarmState.ACTIVE
    )
    return Heard(document=dict(gather(said)), alarms=raised, monitor=monitor, events=events)


def _raises(event: Event, name: str) -> bool:
    return isinstance(event, AlarmChanged) and event.name == name
