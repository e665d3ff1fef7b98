"""What really happened in a run, for tests and benches: nothing of it ever reaches the daemon."""

from __future__ import annotations

from dataclasses import dataclass, field

from hardware.units import ZERO_CELSIUS_K
from simulations.events import in_words
from simulations.plant import Plant
from simulations.scenario import Scenario

TRACE_PERIOD_S = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class IsolatedSpan:
    """The bag shut off from its pump, as it really was."""

    start_s: float
    end_s: float | None
    leak_rise_pa_per_s: float
    """Rise that came from air leaking in, averaged over the span."""
    rise_pa_per_s: float
    """The whole rise, averaged over the span."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """The facts of one run; times in seconds of the scenario."""

    schema: int = 1
    scenario: str
    seed: int
    length_s: float
    gel_s: float | None
    hottest_laminate_c: float
    hottest_s: float
    hottest_cup_c: float
    isolated: tuple[IsolatedSpan, ...]
    events: tuple[dict[str, object], ...]
    marks: tuple[dict[str, object], ...]
    faults: tuple[dict[str, object], ...]
    conversion: tuple[tuple[float, float], ...]
    """(time, mean conversion of the laminate) once a minute."""


@dataclass(slots=True)
class _Open:
    start_s: float
    leak_rise_pa: float
    bag_pa: float


@dataclass(slots=True)
class TruthKeeper:
    """Watches the plant while it runs."""

    scenario: Scenario
    plant: Plant
    _trace: list[tuple[float, float]] = field(default_factory=list)
    _spans: list[IsolatedSpan] = field(default_factory=list)
    _open: _Open | None = None
    _hottest_cup_k: float = 0.0

    def watch(self, to_s: float) -> None:
        """Advance the plant, stopping once a minute to look at it."""
        while True:
            look_s = TRACE_PERIOD_S * len(self._trace)
            if look_s > to_s:
                break
            self.plant.advance(max(0.0, look_s - self.plant.time_s))
            self._trace.append((look_s, round(self.plant.conversion, 5)))
            self._look_at_cup()
        self.plant.advance(to_s - self.plant.time_s)
        self._look_at_cup()

    def note_valve(self) -> None:
        """Notice that the bag was shut off or opened again."""
        bag = self.plant.bag
        if bag.isolated and self._open is None:
            self._open = _Open(self.plant.time_s, bag.leak_rise_pa, bag.bag_pa)
        elif not bag.isolated and self._open is not None:
            self._spans.append(self._span(self._open, self.plant.time_s))
            self._open = None

    def truth(self) -> Truth:
        """Put together what is known by now."""
        head = self.scenario.head
        spans = list(self._spans)
        if self._open is not None:
            spans.append(self._span(self._open, None))
        return Truth(
            scenario=head.name,
            seed=head.seed,
            length_s=self.plant.time_s,
            gel_s=None if self.plant.gel_s is None else round(self.plant.gel_s, 2),
            hottest_laminate_c=round(self.plant.hottest_k - ZERO_CELSIUS_K, 2),
            hottest_s=round(self.plant.hottest_s, 1),
            hottest_cup_c=round(self._hottest_cup_k - ZERO_CELSIUS_K, 2),
            isolated=tuple(spans),
            events=tuple(
                {"at_s": planned.at_s, "do": planned.name, "detail": in_words(planned.event)}
                for planned in self.scenario.events
            ),
            marks=tuple({"at_s": mark.at_s, "name": mark.name} for mark in self.scenario.marks),
            faults=tuple(
                {
                    "channel": fault.channel,
                    "kind": str(fault.kind),
                    "start_s": fault.start_s,
                    "end_s": fault.end_s,
                }
                for fault in self.scenario.faults()
            ),
            conversion=tuple(self._trace),
        )

    def _look_at_cup(self) -> None:
        self._hottest_cup_k = max(self._hottest_cup_k, self.plant.cup.temp_k)

    def _span(self, opened: _Open, end_s: float | None) -> IsolatedSpan:
        bag = self.plant.bag
        lasted_s = max(1e-9, self.plant.time_s - opened.start_s)
        return IsolatedSpan(
            start_s=opened.start_s,
            end_s=end_s,
            leak_rise_pa_per_s=round((bag.leak_rise_pa - opened.leak_rise_pa) / lasted_s, 5),
            rise_pa_per_s=round((bag.bag_pa - opened.bag_pa) / lasted_s, 5),
        )
