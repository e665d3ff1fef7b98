"""Leak, pump and depth as clients see them, from everything the core knows now. Pure."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

from firmware_host.model.channels import Role
from firmware_host.model.snapshot import BagView
from firmware_host.physics.atmosphere import SEA_LEVEL_PA, standard_pressure_pa
from firmware_host.physics.pump_down import pull_down_s
from firmware_host.vacuum.ceiling import (
    Bench,
    deepest_wise,
    liquids_of,
    water_bound_pa,
)
from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.outlook import (
    AgainstKick,
    against_kick,
    leak_cm3_per_min,
    minutes_to_limit,
)

if TYPE_CHECKING:
    from firmware_host.core.monitor import Monitor

PA_PER_KPA, PA_PER_MBAR = 1000.0, 100.0


def bag_view(monitor: Monitor) -> BagView:
    """Show what is known of leak, pump and depth."""
    flow = monitor.rules.flow
    leak, tau_s, bag_pa = flow.known_leak(), flow.flow.tau_s, flow.bag_pa
    volume_l, room_pa = monitor.job.bag.free_volume_l, room_pa_of(monitor)
    laminate_k = monitor.cure.laminate_k()
    ahead = _ahead_s(monitor, leak, bag_pa, room_pa or SEA_LEVEL_PA)
    liquids = liquids_of(
        monitor.job,
        laminate_k=monitor.laminate.hottest_k if monitor.laminate else None,
        form_k=_mean_k(monitor, Role.MOULD),
    )
    bench = _bench(monitor, leak, tau_s, room_pa)
    ceiling = deepest_wise(liquids, bench)
    falls_s = None
    if tau_s is not None and bag_pa is not None and monitor.state.pump_on_s is not None:
        falls_s = pull_down_s(bag_pa, monitor.bag.limit_pa, ceiling.possible_pa, tau_s)
    return BagView(
        leak_pa_per_s=leak.rise_pa_per_s if leak else None,
        leak_low_pa_per_s=leak.low_pa_per_s if leak else None,
        leak_high_pa_per_s=leak.high_pa_per_s if leak else None,
        limit_soonest_s=ahead[0] if ahead else None,
        limit_latest_s=ahead[1] if ahead else None,
        pull_down_s=tau_s,
        pumping_m3_per_s=volume_l / 1000.0 / tau_s if volume_l and tau_s else None,
        deepest_wise_pa=ceiling.deepest_pa,
        deepest_why=ceiling.why.value,
        depth_margin_pa=bag_pa - ceiling.deepest_pa if bag_pa is not None else None,
        possible_pa=ceiling.possible_pa,
        station_pa=room_pa,
        water_bound_pa=water_bound_pa(liquids),
        limit_against_kick=_kick(monitor, ahead),
        below_limit_s=falls_s or None,
        leak_cm3_per_min=None
        if leak is None or volume_l is None
        else leak_cm3_per_min(
            leak.rise_pa_per_s,
            volume_l,
            laminate_k,
            _mean_k(monitor, Role.SHOP),
            room_pa or SEA_LEVEL_PA,
        ),
    )


def room_pa_of(monitor: Monitor) -> float | None:
    """Give the room's pressure as measured, else as typed, else by the altitude's atmosphere."""
    given = monitor.job.conditions
    measured_pa = monitor.room_pa()
    if measured_pa is not None:
        return measured_pa
    if given.station_pressure_hpa is not None:
        return given.station_pressure_hpa * PA_PER_MBAR
    return standard_pressure_pa(given.altitude_m) if given.altitude_m is not None else None


def _bench(
    monitor: Monitor, leak: Rate | None, tau_s: float | None, room_pa: float | None
) -> Bench:
    form = monitor.job.form
    bears_kpa = form.bears_kpa if form is not None else None
    gauges = [w.channel.lowest_pa for w in monitor.channels if w.channel.role is Role.BAG]
    return Bench(
        room_pa=room_pa,
        form_bears_pa=bears_kpa * PA_PER_KPA if bears_kpa is not None else None,
        gauge_lowest_pa=gauges[0] if gauges else None,
        pump_pa=monitor.job.pump.ultimate_mbar * PA_PER_MBAR,
        leak_pa_per_s=leak.rise_pa_per_s if leak else 0.0,
        tau_s=tau_s,
    )


def _ahead_s(
    monitor: Monitor, leak: Rate | None, bag_pa: float | None, room_pa: float
) -> tuple[float, float | None] | None:
    """Give soonest and latest time to the limit with nothing pulling."""
    if bag_pa is None or leak is None:
        return None
    ahead = minutes_to_limit(
        bag_pa, monitor.bag.limit_pa, leak.low_pa_per_s, leak.high_pa_per_s, room_pa
    )
    if ahead is None:
        return None
    return ahead[0] * 60.0, None if ahead[1] is None else ahead[1] * 60.0


def _kick(monitor: Monitor, ahead: tuple[float, float | None] | None) -> str | None:
    """Hold the end of the vacuum against the expected kick."""
    cure = monitor.cure
    if ahead is None or cure.outlook is None:
        return None
    if cure.kicked:
        return AgainstKick.KICKED.value
    low_s, _, high_s = cure.outlook.gel_s
    latest_s = None if ahead[1] is None else monitor.now_s + ahead[1]
    return against_kick(monitor.now_s + ahead[0], latest_s, low_s, high_s).value


def _mean_k(monitor: Monitor, role: Role) -> float | None:
    seen = [
        watch.believed(monitor.now_s, monitor.period_of(number))
        for number, watch in enumerate(monitor.channels)
        if watch.channel.role is role
    ]
    known = [temp_k for temp_k in seen if temp_k is not None]
    return fmean(known) if known else None
