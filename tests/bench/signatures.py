"""Every mishap of bag and pump that shows in the pressure, played whole: what is said and what not.

The plant is the simulator's, the judge the daemon's core; they share no law. A short run plays the
two shortest, the full one every scenario that the program ships with an answer in `MUST_SAY`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.samples import Mark
from hardware.frames import FrameReader
from hardware.messages import SampleLine
from simulations.rig import Line, Marked, Rig
from simulations.scenario import Scenario, load
from tests.bench.feed import Judge

NAME = "signatures"
MUST_SAY: dict[str, frozenset[str]] = {
    "healthy": frozenset(),
    "settling": frozenset(),
    "throttled": frozenset(),
    "second_bag": frozenset(),
    "leak": frozenset({"bag_leaking"}),
    "leak_running": frozenset({"bag_leaking"}),
    "leak_creeps": frozenset({"bag_leaking"}),
    "bridge_bursts": frozenset({"bag_leaking"}),
    "cycling_leak": frozenset({"bag_leaking"}),
    "pump_worn": frozenset({"pump_trouble"}),
    "pump_oil_wet": frozenset({"pump_trouble"}),
    "pump_stops": frozenset({"pump_trouble", "vacuum_lost"}),
    "hose_pinched": frozenset({"pump_trouble"}),
    "pot_fills": frozenset({"pump_trouble"}),
    "valve_left_shut": frozenset({"pump_trouble"}),
    "barometer_falls": frozenset(),
    "supply_sags": frozenset(),
    "pleat_over_gauge": frozenset(),
    "film_lifts_when_cured": frozenset({"bag_leaking"}),
    "form_leaks": frozenset({"bag_leaking"}),
    "fitting_moved": frozenset({"bag_leaking"}),
}
"""Alarms that each must raise; any other is as wrong as a missing one."""
SHORT = ("valve_left_shut",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """One scenario and what was said."""

    name: str
    alarms: tuple[AlarmChanged, ...]

    @property
    def is_right(self) -> bool:
        """Whether what had to be said was said, and nothing else."""
        return {alarm.name for alarm in self.alarms} == MUST_SAY[self.name]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """All of them."""

    name: str
    played: tuple[Played, ...]

    @property
    def is_met(self) -> bool:
        """Whether every one was told as what it is."""
        return all(one.is_right for one in self.played)

    def holds(self, slack: float) -> bool:
        """No figure here is a speed."""
        del slack
        return self.is_met

    def table(self) -> str:
        """One line a scenario."""
        return "\n".join(
            f"{one.name:<22}{'pass' if one.is_right else 'FAIL':<6}"
            + ("; ".join(f"{a.name} at {a.time_s:.0f} s" for a in one.alarms) or "nothing said")
            for one in self.played
        )


def run(seed: int, *, full: bool) -> Table:
    """Play them; the seed moves every noise and the weather."""
    names = tuple(MUST_SAY) if full else SHORT
    return Table(name=NAME, played=tuple(Played(name=n, alarms=alarms_of(n, seed)) for n in names))


def alarms_of(name: str, seed: int | None = None) -> tuple[AlarmChanged, ...]:
    """Play a scenario through the core and give the alarms that it raised."""
    scenario = load(name)
    if seed is not None:
        head = replace(scenario.head, seed=scenario.head.seed + 1000 * seed)
        scenario = replace(scenario, head=head)
    return _raised(scenario)


def _raised(scenario: Scenario) -> tuple[AlarmChanged, ...]:
    rig, judge, reader = Rig(scenario, period_s=1.0), Judge(scenario), FrameReader()
    said: list[object] = []
    for thing in rig.run_to(scenario.head.length_s):
        if isinstance(thing, Marked):
            at_s = round(thing.at_s, 3)
            said += judge.monitor.step(Mark(at_s, thing.name, at_s))
        elif isinstance(thing, Line):
            for message in reader.feed(thing.data):
                if isinstance(message, SampleLine):
                    frame = judge.channels.frame(message.raws, 0, message.t_ms)
                    said += judge.monitor.step(frame)
    return tuple(e for e in said if isinstance(e, AlarmChanged) and e.state is AlarmState.ACTIVE)
