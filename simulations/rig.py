"""The rig: plant, sensors and board on one time line, driven by a scenario.

`run_to(t)` lets the bench's own time pass and gives back, in order, everything that left it: lines
of the board, things that happened, marks that the person makes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from simulations.board import Board
from simulations.events import ChannelFault, Reboot, Replug, Unplug, in_words
from simulations.plant import Plant
from simulations.scenario import PersonSays, Planned, Scenario
from simulations.sensors import CHIP_ABOVE_SHOP_K, Reading, Sensors
from simulations.truth import TruthKeeper
from simulations.wire import Wire


@dataclass(frozen=True, slots=True)
class Line:
    """Bytes that the board sends, plugged in or not."""

    at_s: float
    data: bytes


@dataclass(frozen=True, slots=True)
class Happened:
    """An event took place; the rig is already past it."""

    at_s: float
    name: str
    detail: str


@dataclass(frozen=True, slots=True)
class Marked:
    """The person at the bench says something."""

    at_s: float
    name: str


class Rig:
    """One bench that runs a scenario."""

    def __init__(self, scenario: Scenario, *, period_s: float = 0.5) -> None:
        self.scenario = scenario
        self.plant = Plant(scenario.plant, scenario.head.seed)
        self.board = Board(seed=scenario.head.seed, period_s=period_s)
        self.truth = TruthKeeper(scenario, self.plant)
        self.plugged = True
        self.wire = Wire(scenario.faults(), scenario.head.seed)
        self._sensors = Sensors(scenario.sensors, scenario.faults(), scenario.head.seed)
        things: list[Planned | PersonSays] = [*scenario.events, *scenario.marks]
        self._agenda = sorted(things, key=lambda thing: thing.at_s)
        self._done = 0

    @property
    def time_s(self) -> float:
        """Seconds since the scenario began."""
        return self.plant.time_s

    @property
    def over(self) -> bool:
        """Whether the scenario has run its length."""
        return self.time_s >= self.scenario.head.length_s

    def next_due_s(self) -> float:
        """When something will leave the bench next."""
        board_s = self._line_due_s()
        if self._done < len(self._agenda):
            return min(board_s, self._agenda[self._done].at_s)
        return board_s

    def read(self) -> dict[str, Reading]:
        """Read every channel now."""
        return self._sensors.read(self.time_s, self.plant.truth())

    def pass_time(self, to_s: float) -> Iterator[Happened | Marked | Line]:
        """Let time pass without the board; only what the scenario says takes place."""
        while self._done < len(self._agenda) and self._agenda[self._done].at_s <= to_s:
            thing = self._agenda[self._done]
            self._done += 1
            self._reach(thing.at_s)
            if isinstance(thing, PersonSays):
                yield Marked(thing.at_s, thing.name)
            else:
                yield from self._take_place(thing)
        self._reach(to_s)

    def run_to(self, to_s: float) -> Iterator[Happened | Marked | Line]:
        """Let time pass with the board talking."""
        while (due_s := self._line_due_s()) <= to_s:
            yield from self.pass_time(due_s)
            if self.board.status_due_s <= due_s:
                self.wire.send(due_s, self.board.status(due_s))
            if self.board.sample_due_s <= due_s:
                chip_k = self.plant.shop.temperature_k(due_s) + CHIP_ABOVE_SHOP_K
                self.wire.send(due_s, self.board.sample(due_s, self.read(), chip_k))
            yield from (Line(due_s, data) for data in self.wire.due(due_s))
        yield from self.pass_time(to_s)

    def _line_due_s(self) -> float:
        return min(self.board.sample_due_s, self.board.status_due_s, self.wire.next_due_s)

    def _reach(self, at_s: float) -> None:
        """Advance the plant; a time already passed is left alone."""
        if at_s > self.time_s:
            self.truth.watch(at_s)

    def _take_place(self, planned: Planned) -> Iterator[Happened | Line]:
        event = planned.event
        hello = None
        if isinstance(event, Unplug | Replug):
            self.plugged = isinstance(event, Replug)
        elif isinstance(event, Reboot):
            hello = self.board.boot(planned.at_s)
        elif not isinstance(event, ChannelFault):
            event.happen(self.plant)
            self.plant.bag.disturb()
            self.truth.note_valve()
        yield Happened(planned.at_s, planned.name, in_words(event))
        if hello is not None:
            self.wire.send(planned.at_s, hello)
            yield from (Line(planned.at_s, data) for data in self.wire.due(planned.at_s))
