"""The core's knowledge put into the view that clients see. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firmware_host.core.bag_view import bag_view
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.work_view import show_work
from firmware_host.model.snapshot import CureView, View
from hardware.units import ZERO_CELSIUS_K

if TYPE_CHECKING:
    from firmware_host.core.monitor import Monitor


def show(monitor: Monitor) -> View:
    """Make the view of this moment."""
    state = monitor.state
    return View(
        time_s=monitor.now_s,
        phase=state.phase,
        phase_since_s=state.since_s,
        mixed_s=monitor.cure.mixed_s,
        work_time_s=monitor.job.job.honest_min * 60.0,
        latest_gel_s=monitor.cure.latest_gel_s,
        usual_mark=state.usual_mark(),
        channels=tuple(
            watch.view(monitor.now_s, monitor.period_of(number))
            for number, watch in enumerate(monitor.channels)
        ),
        pressure_limit_pa=monitor.bag.limit_pa,
        drop_rule=monitor.job.bag.drop_rule,
        highest_temperature_k=monitor.job.limits.highest_temperature_c + ZERO_CELSIUS_K,
        drop_test=monitor.bag.test.view() if monitor.bag.test else None,
        cure=_cure(monitor.cure),
        alarms=monitor.board.views(),
        unseen_s=monitor.unseen_s,
        room_pa=monitor.room_pa(),
        bag=bag_view(monitor),
        laminate=monitor.laminate,
        work=show_work(monitor),
        doubts=monitor.doubts,
    )


def _cure(cure: CureWatch) -> CureView | None:
    if cure.mixed_s is None:
        return None
    state = cure.state
    outlook = cure.outlook
    if outlook is None:
        return CureView(
            state=state,
            gel_past_probability=0.0,
            gel_s=None,
            gel_low_s=None,
            gel_early_s=None,
            gel_high_s=None,
            conversion=None,
            conversion_low=None,
            conversion_high=None,
            why=cure.story.why,
        )
    low, mean, high = outlook.conversion if cure.kicked else (None, None, None)
    return CureView(
        state=state,
        gel_past_probability=outlook.gel_past,
        gel_s=outlook.gel_s[1],
        gel_low_s=outlook.gel_s[0],
        gel_early_s=outlook.gel_early_s,
        gel_high_s=outlook.gel_s[2],
        conversion=mean,
        conversion_low=low,
        conversion_high=high,
        late=cure.kicked_late,
        why=cure.story.why,
        inhibitor=cure.inhibitor,
        ahead=cure.story.foresight.newest,
    )
