"""Why not to mix, each with its words, whether it forbids, and whether a person may set it aside.

Pure vocabulary.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from firmware_host.config.plan_tables import Override


class Weight(StrEnum):
    """What a reason does to the answer."""

    NOTICE = "notice"
    """Said, and forbids nothing."""
    BLOCKS = "blocks"
    """Forbids until a person sets it aside in their own words."""
    FORBIDS = "forbids"
    """Forbids; no words help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One finding about the pour."""

    name: str
    text: str
    weight: Weight = Weight.BLOCKS
    set_aside: str = ""
    """What a person typed against it."""

    @property
    def stands(self) -> bool:
        """Whether it keeps the cup from being mixed."""
        if self.weight is Weight.FORBIDS:
            return True
        return self.weight is Weight.BLOCKS and not self.set_aside


def answered(reason: Reason, overrides: tuple[Override, ...]) -> Reason:
    """Put a typed override beside its reason, or say that it does not help."""
    typed = next((one for one in overrides if one.name == reason.name), None)
    if typed is None or reason.weight is Weight.NOTICE:
        return reason
    words = typed.reason + (f" ({typed.by})" if typed.by else "")
    if reason.weight is Weight.FORBIDS:
        return replace(reason, text=f"{reason.text} It cannot be set aside.")
    return replace(reason, text=f"{reason.text} Set aside: {words}", set_aside=words)
