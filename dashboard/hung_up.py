"""Whether the terminal is still there: an ssh line that drops leaves a panel that nobody sees.

Such a panel would read an end of file again and again and keep a core of the board busy.
"""

from __future__ import annotations

import select

GONE = select.POLLHUP | select.POLLERR | select.POLLNVAL


def hung_up(descriptor: int) -> bool:
    """Tell whether a terminal's other end is gone; asks the system, waits for nothing."""
    asked = select.poll()
    asked.register(descriptor, 0)
    return any(event & GONE for _, event in asked.poll(0))
