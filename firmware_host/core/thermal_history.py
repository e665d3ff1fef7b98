"""Block means of the temperatures, kept for three hours, and the zeroing of couples together.

A mark may come late or be missing, and then the cure has to be followed from a moment that has
already passed; that is what the history is for. Couples of one bench differ by a degree among
themselves; before the pour all of them see the same room, so their differences then are errors.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from statistics import fmean

from firmware_host.model.channels import Role

BLOCK_S = 5.0
KEPT_BLOCKS = 2160
COLDEST_OVER_BLOCKS = 120
ZERO_BEFORE_S = 600.0
"""Couples are zeroed over up to ten minutes before mixing."""
ZERO_AFTER_S = 300.0
"""Where watching began at the pour: over the first five minutes after it."""
LEAST_ZERO_BLOCKS = 12
LEAST_SLOW_BLOCKS, SLOW_ZERO_S = 4, 180.0
"""A slow log has fewer readings in the same time, each of them as good."""
LARGEST_ZERO_K = 3.0
"""A couple further off than this is not merely off: its difference is real, or it lies."""


@dataclass(frozen=True, slots=True)
class ThermalBlock:
    """Means of one block by channel name; None where nothing was believed."""

    time_s: float
    temps_k: tuple[float | None, ...]


class ThermalHistory:
    """Recent blocks of the temperature channels."""

    def __init__(self, roles: tuple[Role, ...]) -> None:
        self.roles = roles
        self.blocks: deque[ThermalBlock] = deque(maxlen=KEPT_BLOCKS)

    def add(self, time_s: float, temps_k: tuple[float | None, ...]) -> ThermalBlock:
        """Keep a block."""
        block = ThermalBlock(time_s, temps_k)
        self.blocks.append(block)
        return block

    def since(self, start_s: float) -> list[ThermalBlock]:
        """List the blocks that end after a moment."""
        return [block for block in self.blocks if block.time_s > start_s]

    def coldest(self, names: tuple[str, ...], zeros: tuple[float, ...] | None) -> str | None:
        """Name the couple at the coldest believed place of the laminate, over ten minutes."""
        blocks = list(self.blocks)[-COLDEST_OVER_BLOCKS:]
        places: list[tuple[float, str]] = []
        for index, role in enumerate(self.roles):
            seen = [t for block in blocks if (t := block.temps_k[index]) is not None]
            if role is Role.PART and seen:
                zero_k = zeros[index] if zeros is not None else 0.0
                places.append((fmean(seen) - zero_k, names[index]))
        return min(places)[1] if places else None

    def zeros(self, mixed_s: float, now_s: float) -> tuple[float, ...] | None:
        """Give what to take off each channel, or None while too little was seen.

        A channel's zero is its mean before the pour less the mean of all channels then.
        """
        before = self._between(mixed_s - ZERO_BEFORE_S, mixed_s)
        if _enough([block.time_s for block in before]):
            return self._zeros_over(before)
        if now_s < mixed_s + ZERO_AFTER_S:
            return None
        return self._zeros_over(self._between(mixed_s - ZERO_BEFORE_S, mixed_s + ZERO_AFTER_S))

    def _between(self, start_s: float, end_s: float) -> list[ThermalBlock]:
        return [block for block in self.blocks if start_s < block.time_s <= end_s]

    def _zeros_over(self, blocks: list[ThermalBlock]) -> tuple[float, ...]:
        means: list[float | None] = []
        for i in range(len(self.roles)):
            seen = [(b.time_s, t) for b in blocks if (t := b.temps_k[i]) is not None]
            enough = _enough([at_s for at_s, _ in seen])
            means.append(fmean([temp_k for _, temp_k in seen]) if enough else None)
        known = [mean for mean in means if mean is not None]
        centre = fmean(known) if known else 0.0
        return tuple(
            0.0 if mean is None or abs(mean - centre) > LARGEST_ZERO_K else mean - centre
            for mean in means
        )


def _enough(times_s: list[float]) -> bool:
    if len(times_s) >= LEAST_ZERO_BLOCKS:
        return True
    return len(times_s) >= LEAST_SLOW_BLOCKS and times_s[-1] - times_s[0] >= SLOW_ZERO_S
