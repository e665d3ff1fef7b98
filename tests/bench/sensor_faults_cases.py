"""Which fault must be found, from when and how fast: the truth that detectors are held to.

A fault that a chip or a missing reading tells must be found at once. One that only shows in the
value must be found once it is plain: what the channel says is PLAIN_K or PLAIN_PA away from what a
healthy one would say, for as long as the limit lasts, and another channel of the bench saw the
event. Before that "cannot tell" is the honest answer, and nothing is owed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from firmware_host.model.channels import Quantity, channel_named
from simulations.faults import Fault, FaultKind, with_partners
from simulations.sensors import PLACES, Sensor, SensorSettings
from tests.bench.sensor_faults_bench import PERIOD_S, Moment, Story

PLAIN_K = 3.0
PLAIN_PA = 2000.0
"""What a gauge must show within half a minute of pump on."""
COUPLES, GAUGES = ("part1", "part2", "mould"), ("bag", "pump")
"""Channels whose event others see too; cup and shop stand alone."""
UNDECIDED_OF_TWO = (FaultKind.WRONG, FaultKind.SLOW, FaultKind.DELAYED, FaultKind.DRIFTING)
"""Two gauges that disagree a little do not say which of them lies; the hose between may do it."""
WARM_K = 1.5
"""Once the laminate is this much over the shop, couples differ by where they lie, and one that
walks off or lags cannot be told from one that lies where it is thinner."""
LIMITS_S = {
    FaultKind.OFF: max(10.0 * PERIOD_S, 5.0) + PERIOD_S + 1.0,
    FaultKind.OPEN: 2.0 * PERIOD_S + 1.0,
    FaultKind.SHORTED: 2.0 * PERIOD_S + 1.0,
    FaultKind.NOISY: 20.0,
    FaultKind.GARBAGE: 60.0,
    FaultKind.INTERMITTENT: 60.0,
    FaultKind.STUCK: 60.0,
    FaultKind.BRIDGED: 60.0,
    FaultKind.DETACHED: 120.0,
    FaultKind.REVERSED: 300.0,
    FaultKind.SWAPPED: 300.0,
    FaultKind.WRONG: 300.0,
    FaultKind.SLOW: 300.0,
    FaultKind.DELAYED: 300.0,
    FaultKind.DRIFTING: 300.0,
}
"""Seconds; a second of them is the grid on which channels are looked at."""
TOLD_AT_ONCE = (
    FaultKind.OFF,
    FaultKind.OPEN,
    FaultKind.SHORTED,
    FaultKind.NOISY,
    FaultKind.GARBAGE,
    FaultKind.INTERMITTENT,
)
LIVELY_GAUGE_SAMPLES = 300
"""A gauge whose noise is about its step and that repeats one code for this long is stuck: half a
minute at ten readings a second."""
WIRED_S = 5.0
"""What is wrong so early was wired so: a constant difference is a zero then, which is told."""
WATCHED_S = 300.0
"""How long a fault that need not be found is watched."""
LOOK_EVERY = 4
"""Moments between looks at the truth."""

QUIET = SensorSettings(
    gauge_zero_pa=0.0,
    gauge_noise_pa=0.0,
    gauge_wander_pa=0.0,
    gauge_step_pa=0.0,
    couple_zero_k=0.0,
    couple_noise_k=0.0,
    couple_wander_k=0.0,
    couple_step_k=0.0,
    missed_share=0.0,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """From when a fault must be found, within which time; None: it cannot be told."""

    since_s: float | None
    limit_s: float


def faults_of(channel: str, kind: FaultKind, start_s: float) -> Fault:
    """Break a channel, for good; a swap is with a neighbour of the same quantity."""
    other = None
    if kind is FaultKind.SWAPPED:
        alike = [name for name in PLACES if quantity_of(name) is quantity_of(channel)]
        other = alike[(alike.index(channel) + 2) % len(alike)]
        other = other if other != channel else alike[(alike.index(channel) + 1) % len(alike)]
    return Fault(channel=channel, kind=kind, start_s=start_s, other=other)


def quantity_of(channel: str) -> Quantity:
    """Say what a channel measures."""
    return channel_named(channel).role.quantity


def takes(channel: str, kind: FaultKind) -> bool:
    """Whether a channel can have such a fault."""
    return kind is not FaultKind.BRIDGED or quantity_of(channel) is Quantity.TEMPERATURE


def owed(fault: Fault, told: Story, begin: int) -> Owed:
    """Say from when the fault must be found, looking from a moment's number on."""
    limit_s = LIMITS_S[fault.kind]
    if fault.kind in TOLD_AT_ONCE:
        return Owed(since_s=fault.start_s, limit_s=limit_s)
    is_gauge = quantity_of(fault.channel) is Quantity.PRESSURE
    if fault.kind is FaultKind.STUCK and is_gauge:
        return Owed(since_s=fault.start_s, limit_s=LIVELY_GAUGE_SAMPLES * PERIOD_S)
    if _as_good_as_true(fault, told.moments[begin]):
        return Owed(since_s=None, limit_s=limit_s)
    is_alone = fault.channel not in (GAUGES if is_gauge else COUPLES)
    if is_alone or (is_gauge and fault.kind in UNDECIDED_OF_TWO):
        return Owed(since_s=None, limit_s=limit_s)
    return Owed(since_s=_plain_since(fault, told.moments[begin:], limit_s), limit_s=limit_s)


def _as_good_as_true(fault: Fault, then: Moment) -> bool:
    """Tell whether what such a channel shows is also what a sound one may show.

    Two leads in one laminate may change places. A couple that lags may lie where heat comes late.
    A bag gauge at room pressure may hang in an open bag, a pump gauge behind a check valve; only a
    pull-down tells, where the bag falls and the pump side does not.
    """
    if fault.kind is FaultKind.SWAPPED:
        return {fault.channel, fault.other} <= set(COUPLES)
    if fault.kind is FaultKind.SLOW:
        return fault.channel in COUPLES
    deep = then.truth["bag"] < 0.5 * then.truth["barometer"]
    return fault.kind is FaultKind.DETACHED and (
        fault.channel == "bag" or (fault.channel == "pump" and deep)
    )


def _plain_since(fault: Fault, moments: Sequence[Moment], limit_s: float) -> float | None:
    """First time from which on the lie is plain for the whole limit."""
    plain = PLAIN_PA if quantity_of(fault.channel) is Quantity.PRESSURE else PLAIN_K
    fine, broken = (
        Sensor(fault.channel, QUIET, faults, 1) for faults in ((), with_partners((fault,)))
    )
    zero = 0.0
    if fault.start_s <= WIRED_S and quantity_of(fault.channel) is Quantity.TEMPERATURE:
        zero = _difference(fine, broken, moments[0])  # couples are zeroed against each other
    since_s: float | None = None
    for moment in moments[::LOOK_EVERY]:
        should = fine.read(moment.at_s, moment.truth).value
        says = broken.read(moment.at_s, moment.truth).value
        warm = fault.kind is FaultKind.DRIFTING and _is_warm(should, moment)
        if should is None or says is None or abs(says - should - zero) < plain or warm:
            since_s = None
        elif since_s is None:
            since_s = moment.at_s
        elif moment.at_s - since_s >= limit_s:
            return since_s
    return None


def _difference(fine: Sensor, broken: Sensor, moment: Moment) -> float:
    should, says = (sensor.read(moment.at_s, moment.truth).value for sensor in (fine, broken))
    return 0.0 if should is None or says is None else says - should


def _is_warm(should: float | None, moment: Moment) -> bool:
    shop_k = Sensor("shop", QUIET, (), 1).read(moment.at_s, moment.truth).value
    return should is not None and shop_k is not None and should - shop_k > WARM_K
