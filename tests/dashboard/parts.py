"""Snapshots as the daemon would say them, a link turned by hand, and a look at the screen."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace

from textual.pilot import Pilot

from dashboard.app import FOLLOW, Panel
from dashboard.client import Sent
from dashboard.heard import Heard
from firmware_host.clock import ManualClock
from firmware_host.model.commands import Answer
from firmware_host.model.events import AlarmState, CureState, Phase, Verdict
from firmware_host.model.snapshot import (
    SCHEMA,
    AlarmView,
    ChannelView,
    CureView,
    DropTestView,
    LinkView,
    Snapshot,
    View,
    WorkView,
)
from firmware_host.model.trend import Trend

CHANNELS = (
    ChannelView(name="bag", value=4890.0, age_s=0.1, fault=None),
    ChannelView(name="part1", value=298.15, age_s=0.1, fault=None),
    ChannelView(name="part2", value=None, age_s=40.0, fault="open"),
    ChannelView(name="shop", value=293.15, age_s=0.1, fault=None),
)
WAITING_CURE = CureView(
    state=CureState.WAITING,
    gel_past_probability=0.01,
    gel_s=3600.0,
    gel_low_s=3000.0,
    gel_early_s=3300.0,
    gel_high_s=4800.0,
    conversion=None,
    conversion_low=None,
    conversion_high=None,
)
KICKED_CURE = replace(
    WAITING_CURE,
    state=CureState.KICKED,
    gel_past_probability=0.999,
    conversion=0.42,
    conversion_low=0.30,
    conversion_high=0.55,
)
WORK = WorkView(
    sealed_by_s=2250.0,
    smoothed_by_s=2700.0,
    kick_low_s=3000.0,
    kick_high_s=4800.0,
    proven=True,
    plies_laid=0,
    plies=0,
    next_ply="",
    second_cup_s=None,
    second_cup_by_s=None,
    poured_percent=None,
    poured_doubt="",
)
TEST = DropTestView(
    number=2,
    start_s=1500.0,
    end_s=1560.0,
    running=True,
    verdict=Verdict.UNDECIDED,
    decided_s=None,
    rise_pa_per_s=1.2,
    rise_low_pa_per_s=0.4,
    rise_high_pa_per_s=2.1,
    limit_pa_per_s=3.3,
)
LOST = AlarmView(
    id="vacuum_lost-1",
    name="vacuum_lost",
    channel=None,
    state=AlarmState.ACTIVE,
    priority="high",
    raised_s=1680.0,
    text="Bag above 150 mbar for 2 min. The resin has not kicked: vacuum still matters.",
    action="Listen along the tape, the pleats and the hose end; check pump and valve.",
)
FAULT = AlarmView(
    id="sensor_fault-1",
    name="sensor_fault",
    channel="part2",
    state=AlarmState.ACTIVE,
    priority="medium",
    raised_s=1200.0,
    text="part2 reads open.",
    action="Check its plug and wire; the job goes on without it.",
)
VIEW = View(
    time_s=1800.0,
    phase=Phase.WAITING,
    phase_since_s=1200.0,
    mixed_s=300.0,
    work_time_s=1500.0,
    latest_gel_s=5400.0,
    usual_mark="valve_shut",
    channels=CHANNELS,
    pressure_limit_pa=15000.0,
    drop_rule="1 inHg in 5 min",
    highest_temperature_k=363.15,
    drop_test=None,
    cure=WAITING_CURE,
    alarms=(),
    unseen_s=0.0,
    room_pa=101300.0,
    work=WORK,
)
SNAPSHOT = Snapshot(
    schema=SCHEMA,
    version="0.1.0",
    bench="north-bench",
    part="kayak hatch cover",
    folder="/tmp/jobs/1",
    wall="2026-03-01T08:30:00+00:00",
    zero_wall="2026-03-01T08:00:00+00:00",
    clock_rate=1.0,
    stored_rows=3600,
    stored_age_s=0.8,
    links=(LinkView(name="board", up=True, text="", frames=3600, damaged=0, lost=0),),
    view=VIEW,
)
TREND = Trend(
    step_s=10.0,
    time_s=(10.0, 20.0, 30.0, 40.0, 50.0, 60.0),
    bag_pa=(100000.0, 100000.0, 20000.0, 5000.0, 5000.0, 5000.0),
    laminate_k=(293.15, 293.15, 294.15, 294.15, 295.15, 296.15),
    shop_k=(293.15,) * 6,
)


def snapshot(phase: Phase | None = None, **changes: object) -> Snapshot:
    """Change the view of the usual snapshot."""
    if phase is not None:
        changes["phase"] = phase
    return replace(SNAPSHOT, view=replace(VIEW, **changes))  # type: ignore[arg-type]  # by name


def dirty(text: str) -> Snapshot:
    """Put a text wherever a snapshot holds one."""
    said = snapshot(
        alarms=(
            replace(
                LOST,
                id=text,
                name=text,
                channel=text,
                text=text,
                action=text,
                priority=text,
            ),
        ),
        channels=(
            ChannelView(name=text, value=None, age_s=None, fault=text),
            ChannelView(name="bag", value=5000.0, age_s=0.0, fault=None),
        ),
        drop_rule=text,
        usual_mark=text,
    )
    link = LinkView(name=text, up=False, text=text, frames=0, damaged=0, lost=0)
    return replace(said, part=text, bench=text, folder=text, zero_wall=text, links=(link,))


class FakeLink:
    """A daemon that says what the test wants said."""

    def __init__(self, clock: ManualClock) -> None:
        self.heard = Heard()
        self.sent: list[Sent] = []
        self.answer = Answer(ok=True, text="")
        self.fails: OSError | None = None
        self.job = TREND
        self.trends = 0
        self._clock = clock

    def say(self, said: Snapshot) -> None:
        self.heard = Heard(snapshot=said, at_s=self._clock.monotonic_s())

    async def run(self) -> None:
        await asyncio.Event().wait()

    async def send(self, command: Sent) -> Answer:
        if self.fails is not None:
            raise self.fails
        self.sent.append(command)
        return self.answer

    async def trend(self) -> Trend:
        self.trends += 1
        return self.job


class Desk:
    """The panel, its link and its clock, all turned by hand."""

    def __init__(self, *, ascii_only: bool = False) -> None:
        self.clock = ManualClock(1000.0)
        self.link = FakeLink(self.clock)
        self.panel = Panel(self.link, self.clock, ascii_only=ascii_only)
        self.pilot: Pilot[None] | None = None

    async def look(self, seconds: float = 0.0) -> str:
        """Let time pass, look, and read what a person reads."""
        self.clock.turn(seconds)
        self.panel.look()
        await self.settle()
        return self.text()

    async def press(self, *keys: str) -> str:
        assert self.pilot is not None
        await self.look()
        await self.pilot.press(*keys)
        await self.settle()
        return await self.look()

    async def settle(self) -> None:
        assert self.pilot is not None
        for worker in tuple(self.panel.workers):
            if worker.name != FOLLOW:
                await worker.wait()
        await self.pilot.pause()

    def text(self) -> str:
        rows = self.panel.screen._compositor.render_strips()
        return "\n".join(strip.text.rstrip() for strip in rows)


def at_desk(
    act: Callable[[Desk], Awaitable[None]],
    *,
    size: tuple[int, int] = (80, 24),
    ascii_only: bool = False,
) -> None:
    """Run a panel headless and act on it."""

    async def run() -> None:
        desk = Desk(ascii_only=ascii_only)
        async with desk.panel.run_test(size=size) as pilot:
            desk.pilot = pilot
            await act(desk)

    asyncio.run(run())
