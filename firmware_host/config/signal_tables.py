"""[signals] of the bench file: what is heard, seen and pressed at the bench. All of it optional.

Numbers are the pins' own (BCM), not those of the header.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Annotated

from msgspec import Meta

Pin = Annotated[int, Meta(ge=0, le=27)]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalTable:
    """[signals]."""

    buzzer_pin: Pin | None = None
    """An active buzzer, through a transistor."""
    lamp_high_pin: Pin | None = None
    lamp_medium_pin: Pin | None = None
    lamp_low_pin: Pin | None = None
    tone_pin: Pin | None = None
    """A passive buzzer or small speaker: a tone that rises with vacuum."""
    button_pin: Pin | None = None
    """A button or foot pedal to ground."""

    @property
    def pins(self) -> dict[str, int]:
        """Every pin that is given, by its key."""
        held = {one.name: getattr(self, one.name) for one in fields(self)}
        return {key: pin for key, pin in held.items() if pin is not None}
