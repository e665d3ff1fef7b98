"""What the panel has heard so far, and how old it is. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.snapshot import Snapshot

OLD_S = 2.0
"""Data older than this says so."""
BLANK_S = 10.0
"""Data older than this is no measurement of now: its numbers are blanked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """The newest snapshot; times on the panel's own monotonic clock."""

    snapshot: Snapshot | None = None
    at_s: float | None = None
    trouble: str = ""
    """Why nothing comes; empty while connected."""

    def age_s(self, now_s: float) -> float:
        """Tell how long ago the snapshot came; 0 before there was one."""
        return 0.0 if self.at_s is None else max(now_s - self.at_s, 0.0)
