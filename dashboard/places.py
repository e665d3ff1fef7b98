"""The lines of the panel: header, channels, and how the watching itself stands. Pure."""

from __future__ import annotations

from dashboard.heard import OLD_S, Heard
from dashboard.measured import NOT_MEASURED, role_of
from dashboard.plain import cut, padded
from dashboard.shown import Line, Span, Tone, line, spread
from dashboard.words import clock_at, degrees, mbar, span, spoken
from firmware_host.model.channels import Quantity, Role
from firmware_host.model.quality import Quality
from firmware_host.model.snapshot import ChannelView, LinkView, Snapshot

PART_CELLS = 26
CHANNEL_CELLS = 20
MOST_CHANNEL_LINES = 4
RECORD_LATE_S = 10.0
"""Real time since the last synced commit after which the record is said to lag."""
PHONE_PATH_DOWN = "phone_path_down"
_EXPECTED = (Role.BAG, Role.PART)
"""Named as not measured where no channel has the role."""


def header(snapshot: Snapshot, heard: Heard, age_s: float, now_s: float, cells: int) -> Line:
    """Name part and phase, and how old all this is."""
    view = snapshot.view
    left = (
        Span(f" {cut(snapshot.part, PART_CELLS)}  ", Tone.STRONG),
        Span(f" {spoken(view.phase.value)} ", Tone.MARKED),
        Span(f" {span(now_s - view.phase_since_s)}"),
        Span("" if view.mixed_s is None else f"   mixed {span(now_s - view.mixed_s)} ago"),
    )
    return spread(left, _age(snapshot, heard, age_s, now_s), cells)


def _age(snapshot: Snapshot, heard: Heard, age_s: float, now_s: float) -> Line:
    if age_s > OLD_S:
        what = "no answer," if heard.trouble else "data"
        return line(f" !! {what} {span(age_s)} old ", Tone.ALARM)
    fast = "" if snapshot.clock_rate == 1.0 else f"x{snapshot.clock_rate:g} "
    return line(f"{fast}{clock_at(snapshot.zero_wall, now_s)} ")


def channels(snapshot: Snapshot, cells: int, *, rows: int = MOST_CHANNEL_LINES) -> tuple[Line, ...]:
    """Lay the channels out in columns, each with its value or its fault."""
    view = snapshot.view
    found = {role_of(channel.name) for channel in view.channels}
    shown = [_channel(channel) for channel in view.channels]
    shown += [
        Span(f"{role.value} {NOT_MEASURED}", Tone.QUIET) for role in _EXPECTED if role not in found
    ]
    across = max(cells // CHANNEL_CELLS, 1)
    room = across * rows
    if len(shown) > room:
        shown = [*shown[: room - 1], Span(f"and {len(shown) - room + 1} more")]
    laid_out = [shown[i : i + across] for i in range(0, len(shown), across)]
    return tuple(
        tuple(Span(" " + padded(cell.text, CHANNEL_CELLS - 1), cell.tone) for cell in row)
        for row in laid_out
    )


def _channel(channel: ChannelView) -> Span:
    if channel.value is None:
        fault = spoken(channel.fault or "silent")
        return Span(f"{channel.name} !! {fault}", Tone.ALARM)
    role = role_of(channel.name)
    is_pressure = role is not None and role.quantity is Quantity.PRESSURE
    value = f"{mbar(channel.value):>5} mbar" if is_pressure else f"{degrees(channel.value):>5} C"
    if channel.quality is not Quality.GOOD:
        return Span(f"{channel.name:<8}{value} ~", Tone.NOTICE)
    return Span(f"{channel.name:<9}{value}")


def state(snapshot: Snapshot, cells: int) -> Line:
    """Say how ports, record and watching stand."""
    spans = [_link(link) for link in snapshot.links]
    spans += [Span("no port; nothing is measured   ", Tone.QUIET)] if not snapshot.links else []
    spans += [_record(snapshot), Span("   "), _watched(snapshot), Span("   "), _phone(snapshot)]
    return spread((Span(" "), *spans), line(f"{snapshot.bench} ", Tone.QUIET), cells)


def _link(link: LinkView) -> Span:
    name = cut(link.name, 12)
    if not link.up:
        return Span(f"!! {name}: {cut(link.text, 48)}   ", Tone.ALARM)
    if link.limps:
        return Span(f"~ {name}: {cut(link.text, 48)}   ", Tone.NOTICE)
    return Span(f"{name} answers   ")


def _record(snapshot: Snapshot) -> Span:
    age_s = snapshot.stored_age_s
    if age_s is None:
        return Span("~ nothing recorded yet", Tone.NOTICE)
    real_s = age_s / snapshot.clock_rate if snapshot.clock_rate > 0.0 else age_s
    if real_s > RECORD_LATE_S:
        return Span(f"~ record {span(real_s)} behind", Tone.NOTICE)
    return Span("recording")


def _phone(snapshot: Snapshot) -> Span:
    """Say whether anybody is told who does not stand here."""
    if not snapshot.broker:
        return Span("no broker", Tone.QUIET)
    if any(alarm.name == PHONE_PATH_DOWN for alarm in snapshot.view.alarms):
        return Span("!! no phone is told", Tone.ALARM)
    return Span(f"broker {cut(snapshot.broker, 15)}")


def _watched(snapshot: Snapshot) -> Span:
    if snapshot.view.unseen_s > 0.0:
        return Span(f"~ {span(snapshot.view.unseen_s)} unseen", Tone.NOTICE)
    return Span("no gaps")
