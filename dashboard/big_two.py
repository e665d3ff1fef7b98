"""The two numbers that matter now, chosen by phase. Pure.

While resin is worked it is time; while the bag is drawn down, the bag; once it waits, bag and
laminate; after the kick, laminate and the time since the gel. The gel itself is never counted down
to: it is a range, and stands on its own line.
"""

from __future__ import annotations

from collections.abc import Callable

from dashboard.measured import hottest_k, measured
from dashboard.shown import BigNumber, Line, Tone, line
from dashboard.words import (
    LONGEST_BIG,
    NOT_KNOWN,
    clock_at,
    degrees,
    digits,
    hours_minutes,
    mbar,
    minutes_seconds,
)
from firmware_host.model.channels import Role
from firmware_host.model.events import Phase
from firmware_host.model.snapshot import Snapshot, View, WorkView
from hardware.units import from_pascal

HOT_WITHIN_K = 5.0
DAY_S = 86400.0

Maker = Callable[[Snapshot, float], BigNumber]


def the_two(snapshot: Snapshot, now_s: float) -> tuple[BigNumber, BigNumber]:
    """Choose and fill both places."""
    left, right = _CHOICE[snapshot.view.phase]
    return left(snapshot, now_s), right(snapshot, now_s)


def unknown(caption: str = "") -> BigNumber:
    """Fill a place before anything was heard."""
    return BigNumber(caption=caption, digits=NOT_KNOWN, note=line("not known", Tone.QUIET))


def _bag(snapshot: Snapshot, now_s: float) -> BigNumber:
    del now_s
    view = snapshot.view
    bag = measured(view, Role.BAG)
    caption = "bag, mbar absolute"
    if bag.value is None:
        return _without(caption, bag.why_not)
    limit = mbar(view.pressure_limit_pa)
    lost = any(alarm.name == "vacuum_lost" for alarm in view.alarms)
    tone, state = Tone.PLAIN, f"below {limit} as wanted"
    if bag.value > view.pressure_limit_pa:
        tone, state = (
            (Tone.ALARM, f"!! above {limit}, the limit")
            if lost
            else (Tone.PLAIN, f"not below {limit} yet")
        )
    return BigNumber(
        caption=caption,
        digits=digits(mbar(bag.value)),
        note=line(state + _under_room(view, bag.value), tone),
        tone=tone,
    )


def _under_room(view: View, bag_pa: float) -> str:
    if view.room_pa is None:
        return ""
    under_pa = max(view.room_pa - bag_pa, 0.0)
    return f", {from_pascal(under_pa, 'inHg'):.1f} inHg vacuum"


def _laminate(snapshot: Snapshot, now_s: float) -> BigNumber:
    del now_s
    view = snapshot.view
    laminate = measured(view, Role.PART)
    caption = "laminate, degC"
    if laminate.value is None:
        return _without(caption, laminate.why_not)
    limit_k, hottest = view.highest_temperature_k, hottest_k(view)
    limit = degrees(limit_k).removesuffix(".0")
    tone, state = Tone.PLAIN, f"below {limit} as wanted"
    if hottest is not None and hottest > limit_k - HOT_WITHIN_K:
        tone, state = Tone.NOTICE, f"~ near {limit}, the limit"
    if hottest is not None and hottest > limit_k:
        tone, state = Tone.ALARM, f"!! above {limit}, the limit"
    over = _over_shop(view, laminate.value)
    return BigNumber(
        caption=caption,
        digits=digits(degrees(laminate.value)),
        note=line(state + over, tone),
        tone=tone,
    )


def _over_shop(view: View, laminate_k: float) -> str:
    shop = measured(view, Role.SHOP).value
    if shop is None:
        return ""
    over_k = laminate_k - shop
    return f", {abs(over_k):.1f} K {'over' if over_k >= 0.0 else 'under'} shop"


def _shop(snapshot: Snapshot, now_s: float) -> BigNumber:
    del now_s
    shop = measured(snapshot.view, Role.SHOP)
    caption = "shop, degC"
    if shop.value is None:
        return _without(caption, shop.why_not)
    return BigNumber(
        caption=caption, digits=digits(degrees(shop.value)), note=line("before the pour")
    )


def _work_planned(snapshot: Snapshot, now_s: float) -> BigNumber:
    del now_s
    return BigNumber(
        caption="work time, min:s",
        digits=digits(minutes_seconds(snapshot.view.work_time_s)),
        note=line("from mixing to bag closed"),
    )


def _to_smoothed(snapshot: Snapshot, now_s: float) -> BigNumber:
    """Count down to the last smoothing; the honest work time stands below."""
    view = snapshot.view
    work = view.work
    caption = "to last smoothing"
    if work is None or work.smoothed_by_s is None:
        return _work_left(snapshot, now_s)
    by = clock_at(snapshot.zero_wall, work.smoothed_by_s)
    sure = "" if work.proven else " (unproven)"
    if view.phase is Phase.WORKING and view.mixed_s is not None:
        sure += f", work ends {clock_at(snapshot.zero_wall, view.mixed_s + view.work_time_s)}"
    return _left(caption, "smoothing late", work.smoothed_by_s - now_s, f"by {by}{sure}")


def _work_left(snapshot: Snapshot, now_s: float) -> BigNumber:
    """Count down the honest work time, where no gate is known."""
    view = snapshot.view
    if view.mixed_s is None:
        return _work_planned(snapshot, now_s)
    end_s = view.mixed_s + view.work_time_s
    by = clock_at(snapshot.zero_wall, end_s)
    planned = f"{view.work_time_s / 60.0:g} min from mixing, to {by}"
    return _left("work time left", "work time over", end_s - now_s, planned)


def _to_sealed(snapshot: Snapshot, now_s: float) -> BigNumber:
    work = snapshot.view.work
    if work is None or work.sealed_by_s is None:
        return _without("to bag sealed, min:s", "no gel forecast yet")
    by = clock_at(snapshot.zero_wall, work.sealed_by_s)
    note = f"by {by}{_kick(snapshot, work)}"
    return _left("to bag sealed", "bag sealed late", work.sealed_by_s - now_s, note)


def _kick(snapshot: Snapshot, work: WorkView) -> str:
    """Say the kick as a range, never as a moment."""
    if work.kick_low_s is None or work.kick_high_s is None:
        return ""
    low, high = (
        "later" if time_s - snapshot.view.time_s >= DAY_S else clock_at(snapshot.zero_wall, time_s)
        for time_s in (work.kick_low_s, work.kick_high_s)
    )
    return f"; kick {low} to {high}"


def _left(caption: str, late: str, left_s: float, note: str) -> BigNumber:
    """Show time that is left, or by how much it is over."""
    if left_s < 0.0:
        shown, unit = _over(-left_s)
        return BigNumber(
            caption=f"~ {late} by, {unit}",
            digits=digits(shown),
            note=line(f"~ {note}", Tone.NOTICE),
            tone=Tone.NOTICE,
        )
    return BigNumber(
        caption=f"{caption}, min:s", digits=digits(minutes_seconds(left_s)), note=line(note)
    )


def _over(over_s: float) -> tuple[str, str]:
    """Give time over with a minus: across the room, where no caption is read, it must differ."""
    exact = f"-{minutes_seconds(over_s)}"
    return (exact, "min:s") if len(exact) <= LONGEST_BIG else (f"-{int(over_s) // 60}", "min")


def _in_phase(snapshot: Snapshot, now_s: float) -> BigNumber:
    view = snapshot.view
    word = view.phase.value.replace("_", " ")
    since = clock_at(snapshot.zero_wall, view.phase_since_s)
    spent_s = now_s - view.phase_since_s
    long = view.phase in (Phase.RELEASED, Phase.CLOSED, Phase.ABANDONED)
    return BigNumber(
        caption=f"{word} for, {'h:min' if long or spent_s >= 6000.0 else 'min:s'}",
        digits=digits(hours_minutes(spent_s) if long else minutes_seconds(spent_s)),
        note=line(f"since {since}"),
    )


def _since_gel(snapshot: Snapshot, now_s: float) -> BigNumber:
    caption = "since the gel, h:min"
    cure = snapshot.view.cure
    if cure is None or cure.gel_s is None or cure.gel_low_s is None or cure.gel_high_s is None:
        return _without(caption, "gel not placed")
    low = clock_at(snapshot.zero_wall, cure.gel_low_s)
    high = clock_at(snapshot.zero_wall, cure.gel_high_s)
    return BigNumber(
        caption=caption,
        digits=digits(hours_minutes(now_s - cure.gel_s)),
        note=line(f"gel between {low} and {high}"),
    )


def _without(caption: str, why: str) -> BigNumber:
    tone = Tone.ALARM if why.startswith("!!") else Tone.QUIET
    note: Line = line(why, tone)
    return BigNumber(caption=caption, digits=NOT_KNOWN, note=note, tone=tone)


_CHOICE: dict[Phase, tuple[Maker, Maker]] = {
    Phase.PLANNED: (_work_planned, _shop),
    Phase.DRY_BAG: (_bag, _in_phase),
    Phase.WORKING: (_to_smoothed, _to_sealed),
    Phase.DRAWDOWN: (_bag, _to_smoothed),
    Phase.WAITING: (_bag, _laminate),
    Phase.KICKED: (_laminate, _since_gel),
    Phase.COOLING: (_laminate, _since_gel),
    Phase.RELEASED: (_laminate, _in_phase),
    Phase.CLOSED: (_laminate, _in_phase),
    Phase.ABANDONED: (_laminate, _in_phase),
}
