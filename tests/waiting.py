"""Wait for a real thread, briefly and with an end."""

from __future__ import annotations

import time
from collections.abc import Callable

DEADLINE_S = 10.0


def until(found: Callable[[], object], deadline_s: float = DEADLINE_S) -> None:
    """Return once `found` holds; fail when it does not within the deadline."""
    end_s = time.monotonic() + deadline_s  # noqa: TID251 - real threads run on real time
    while not found():
        assert time.monotonic() < end_s, f"not within {deadline_s} s"  # noqa: TID251 - as above
        time.sleep(0.002)  # bounded poll of a real thread, not a wait for luck
