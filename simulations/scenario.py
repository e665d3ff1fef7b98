"""A scenario: one bench, and what happens on it at which second.

    [scenario] name, seed, about, length_s, job
    [plant.bag] ...                 what the bench really is
    [sensors] ...
    [[event]] at_s = 600.0, do = "leak_opens", pa_per_s = 13.2
    [[mark]] at_s = 612.0, name = "valve_shut"      what the person at the bench says

Read once and strictly; all problems are told together.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Annotated

from msgspec import Meta

from firmware_host.model.samples import MARKS
from simulations.events import EVENTS, ChannelFault, Event
from simulations.fault_checks import clashes, problems_with
from simulations.faults import Fault
from simulations.plant import PlantSettings
from simulations.sensors import SensorSettings
from simulations.tables import ScenarioError, nearest, read_table

SHIPPED = Path(__file__).parent / "scenarios"
TABLES = ("scenario", "plant", "sensors", "event", "mark")


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """[scenario]."""

    name: Annotated[str, Meta(min_length=1, max_length=60)]
    seed: int
    about: Annotated[str, Meta(min_length=1, max_length=400)]
    length_s: Annotated[float, Meta(gt=0.0, le=200000.0)]
    job: Annotated[str, Meta(pattern=r"^[a-z0-9_-]{1,60}$")]
    """Job description in the folder `jobs` beside the scenario, without `.toml`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """An event with its time and its name."""

    at_s: float
    name: str
    event: Event


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonSays:
    """[[mark]]: what the person presses, and when."""

    at_s: Annotated[float, Meta(ge=0.0)]
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _When:
    at_s: Annotated[float, Meta(ge=0.0)]
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A scenario, checked."""

    head: Head
    folder: Path
    """Where its file lies."""
    plant: PlantSettings = field(default_factory=PlantSettings)
    sensors: SensorSettings = field(default_factory=SensorSettings)
    events: tuple[Planned, ...] = ()
    marks: tuple[PersonSays, ...] = ()

    def faults(self) -> tuple[Fault, ...]:
        """List what goes wrong with channels, with absolute times."""
        return tuple(
            _as_fault(planned.at_s, planned.event)
            for planned in self.events
            if isinstance(planned.event, ChannelFault)
        )


def shipped_names() -> tuple[str, ...]:
    """Name the scenarios that come with the program."""
    return tuple(sorted(path.stem for path in SHIPPED.glob("*.toml")))


def load(name_or_path: str) -> Scenario:
    """Read a shipped scenario by name, or any by the path of its file.

    Raises ScenarioError with every problem found.
    """
    if name_or_path in shipped_names():
        path = SHIPPED / f"{name_or_path}.toml"
    elif name_or_path.endswith(".toml"):
        path = Path(name_or_path)
    else:
        hint = nearest(name_or_path, list(shipped_names()))
        raise ScenarioError([f"no scenario {name_or_path!r}{hint}"])
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as wrong:
        raise ScenarioError([f"{path} cannot be read: {wrong}"]) from wrong
    return parse(text, path.name, path.parent)


def parse(text: str, source: str, folder: Path) -> Scenario:
    """Read a scenario from its text; `source` names it in messages.

    Raises ScenarioError with every problem found.
    """
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise ScenarioError([f"{source}: not TOML: {wrong}"]) from wrong
    problems: list[str] = []
    for name in tables:
        if name not in TABLES:
            problems.append(f"no table [{name}]{nearest(name, list(TABLES))}")
    head = read_table(Head, _table(tables, "scenario", problems), "[scenario]", problems)
    plant = _read_plant(_table(tables, "plant", problems), problems)
    sensors = read_table(SensorSettings, _table(tables, "sensors", problems), "[sensors]", problems)
    events = _read_events(_array(tables, "event", problems), problems)
    marks = _read_marks(_array(tables, "mark", problems), problems)
    if head is not None:
        _check_times(head, events, marks, problems)
        if not (folder / "jobs" / f"{head.job}.toml").is_file():
            problems.append(
                f"[scenario] job = {head.job!r}: no file jobs/{head.job}.toml beside it"
            )
    if problems or head is None or sensors is None:
        raise ScenarioError([f"{source}: {problem}" for problem in problems])
    return Scenario(
        head=head, folder=folder, plant=plant, sensors=sensors, events=events, marks=marks
    )


def _read_plant(tables: Mapping[str, object], problems: list[str]) -> PlantSettings:
    parts: dict[str, object] = {}
    known = {part.name: part.default_factory for part in fields(PlantSettings)}
    for name, values in tables.items():
        if name not in known:
            problems.append(f"no table [plant.{name}]{nearest(name, list(known))}")
        elif not isinstance(values, dict):
            problems.append(f"[plant] {name} must be a table [plant.{name}]")
        else:
            kind = known[name]
            parts[name] = read_table(kind, values, f"[plant.{name}]", problems)  # type: ignore[arg-type]  # every part's factory is its class
    whole = {name: part for name, part in parts.items() if part is not None}
    return PlantSettings(**whole)  # type: ignore[arg-type]  # each part was built by its own class


def _read_events(tables: list[dict[str, object]], problems: list[str]) -> tuple[Planned, ...]:
    events = []
    for number, table in enumerate(tables, 1):
        where = f"[[event]] {number}"
        head = {key: value for key, value in table.items() if key in ("at_s", "do")}
        when = read_table(_When, head, where, problems)
        if when is None:
            continue
        if when.do not in EVENTS:
            problems.append(f"{where} do = {when.do!r} is no event{nearest(when.do, list(EVENTS))}")
            continue
        rest = {key: value for key, value in table.items() if key not in head}
        event = read_table(EVENTS[when.do], rest, f"{where} {when.do}:", problems)
        if event is not None:
            if isinstance(event, ChannelFault):
                wrong = problems_with(_as_fault(when.at_s, event))
                problems.extend(f"{where} fault: {problem}" for problem in wrong)
            events.append(Planned(at_s=when.at_s, name=when.do, event=event))
    if not problems:
        _check_faults(events, problems)
    return tuple(sorted(events, key=lambda planned: planned.at_s))


def _as_fault(at_s: float, event: ChannelFault) -> Fault:
    return Fault(
        channel=event.channel,
        kind=event.kind,
        start_s=at_s,
        end_s=None if event.for_s is None else at_s + event.for_s,
        amount=event.amount,
        other=event.other,
    )


def _check_faults(events: list[Planned], problems: list[str]) -> None:
    faults = [_as_fault(p.at_s, p.event) for p in events if isinstance(p.event, ChannelFault)]
    problems.extend(f"[[event]] fault: {clash}" for clash in clashes(faults))


def _read_marks(tables: list[dict[str, object]], problems: list[str]) -> tuple[PersonSays, ...]:
    marks = []
    for number, table in enumerate(tables, 1):
        mark = read_table(PersonSays, table, f"[[mark]] {number}", problems)
        if mark is None:
            continue
        if mark.name not in MARKS:
            hint = nearest(mark.name, list(MARKS))
            problems.append(f"[[mark]] {number} name = {mark.name!r} is no mark{hint}")
        marks.append(mark)
    return tuple(sorted(marks, key=lambda mark: mark.at_s))


def _check_times(
    head: Head,
    events: tuple[Planned, ...],
    marks: tuple[PersonSays, ...],
    problems: list[str],
) -> None:
    things = [(planned.at_s, planned.name) for planned in events]
    things += [(mark.at_s, f"mark {mark.name}") for mark in marks]
    problems.extend(
        f"{name} at_s = {at_s:g} lies beyond length_s = {head.length_s:g}"
        for at_s, name in things
        if at_s > head.length_s
    )


def _table(tables: Mapping[str, object], name: str, problems: list[str]) -> dict[str, object]:
    table = tables.get(name, {})
    if isinstance(table, dict):
        return table
    problems.append(f"{name} must be a table [{name}]")
    return {}


def _array(tables: Mapping[str, object], name: str, problems: list[str]) -> list[dict[str, object]]:
    array = tables.get(name, [])
    if isinstance(array, list) and all(isinstance(table, dict) for table in array):
        return array
    problems.append(f"{name} must be tables [[{name}]]")
    return []
