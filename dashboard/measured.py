"""What the bench measures, found by role. Pure.

Three answers are kept apart everywhere: a value, a channel without one and its reason, and no such
channel at all, which is "not measured".
"""

from __future__ import annotations

from dataclasses import dataclass

from dashboard.words import spoken
from firmware_host.model.channels import Role, channel_named
from firmware_host.model.snapshot import ChannelView, View

NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True)
class Measured:
    """A value, or why there is none."""

    value: float | None
    why_not: str = ""


def role_of(name: str) -> Role | None:
    """Read the role off a channel's name; None for a name that has none."""
    try:
        return channel_named(name).role
    except ValueError:
        return None


def with_role(view: View, role: Role) -> list[ChannelView]:
    """List the channels of one role."""
    return [channel for channel in view.channels if role_of(channel.name) is role]


def measured(view: View, role: Role) -> Measured:
    """Give the mean of a role's believed channels, or why there is none."""
    channels = with_role(view, role)
    if not channels:
        return Measured(None, NOT_MEASURED)
    known = [channel.value for channel in channels if channel.value is not None]
    if known:
        return Measured(sum(known) / len(known))
    return Measured(None, f"!! {channels[0].name} {spoken(channels[0].fault or 'silent')}")


def hottest_k(view: View) -> float | None:
    """Give the highest believed temperature of laminate and mould."""
    both = with_role(view, Role.PART) + with_role(view, Role.MOULD)
    return max((c.value for c in both if c.value is not None), default=None)
