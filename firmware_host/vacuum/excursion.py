"""Tell the bag from the pump side, where a level rose while the pump should be pulling.

Pure. Signatures, in the order in which they are asked:

    pump side rises above the bag          air comes back through a standing pump
    both jump at once, faster than gas     the gauges: their supply or zero moved
    both rise together                     the pump moves less, or stands
    bag rises, pump side does not          hose pinched or blocked, valve shut by hand
    bag rises more than pump side          air comes in at the bag: a leak of shift / tau

Without a gauge at the pump the shape must do: behind a pump that pulls as before, a leak reaches
its new level within a few tau; what goes on rising is not being pumped, what takes longer is a
pump that pulls less. A hand on the valve looks like a pinched hose, so that one waits longest.
What the room's own pressure may do to gauges that read against it is no pump's and no leak's.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_host.vacuum.isolated_rate import Rate, slope_error_pa_per_s
from firmware_host.vacuum.track import BLOCK_S, Track

CONFIRM_BLOCKS = 8
"""A valve mark may come half a minute late; gas shared with a second bag is pumped off again."""
FRESH_SHARE = 0.5
"""A level that has just left what was confirmed is awaited anew, however long it was up before."""
HAND_BLOCKS = 120
"""A drop test that nobody marked lasts as long as ten minutes."""
SLOW_BLOCKS = 60
LEAST_RISE_BLOCKS, RISE_BLOCKS = 18, 36
"""Whether a level still rises is asked of the newer half of the time: the older holds the rise."""
SLOWER_TAUS = 1.9
"""From a fifth to four fifths an exponential takes ln 4 = 1.39 tau; tau is known to a quarter."""
GRADUAL_TAUS, GRADUAL_BLOCKS = 15.0, 30
"""A rise that takes longer is neither a leak that opened nor a pump that suddenly pulls less."""
GAUGE_PA = 35.0
"""Swing of the difference of two gauges over minutes."""
LEAST_PUMP_PA = 220.0
BAROMETER_PA_PER_S = 0.06
"""A little more than 6 hPa in three hours: "very rapidly" in the terms of the Met Office's shipping
forecast (from memory)."""
MOST_SAG_PA = 3000.0
"""Three hundredths of a gauge's range; more is air, or a lead that came off."""
LEAST_CUT_PA = 260.0
APART_NOISES, TOGETHER_NOISES = 2.6, 1.3
"""Swings of the gauges' difference: beyond the first the bag stands out; for the pump to be blamed
it must not, even if it reads the second too low."""
MOST_APART_SHARE, SHUT_APART_SHARE = 0.15, 0.25
"""A hose takes at least the first of the pressure that a leak's air needs to the pump; the second
is asked where the rise is one that a drop test has seen."""
TAU_ERROR = 1.25
"""How far off tau may be."""
JUMP_TAU_S, JUMP_SHARE = 10.0, 0.8
"""Two blocks of an exponential of ten seconds make 0.63 of it."""
OPENED_PA, RELEASE_BLOCKS, ROOM_PA = 60_000.0, 30, 92_000.0
"""Above the first the bag may have been opened, and the mark is awaited; near room pressure it is
open, by hand or torn, and its level says nothing of a leak."""
LEAST_APART_PA, LEAST_APART_SHARE = 20.0, 0.08
"""A level that is reached as fast as before needs little more at the bag than at the pump."""


class Cause(StrEnum):
    """What raised the level."""

    UNKNOWN = "unknown"
    LEAK = "leak"
    BACK_FLOW = "back_flow"
    PUMP_WEAK = "pump_weak"
    CUT_OFF = "cut_off"
    NO_START = "no_start"
    GAUGES = "gauges"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What else is known while an excursion is judged."""

    limit_pa_per_s: float
    tau_s: float
    last_leak: Rate | None
    """Leak that the last drop test found."""
    noise_pa: float


class Excursion:
    """One rise of the level above where it had been."""

    def __init__(
        self, base_bag_pa: float, base_pump_pa: float | None, error_pa: float, age_blocks: int = 0
    ) -> None:
        """Begin; `age_blocks` is how long ago the base was read."""
        self.age_blocks = age_blocks
        self.base_bag_pa = base_bag_pa
        self.base_pump_pa = base_pump_pa
        self.error_pa = error_pa
        self.blocks = 0
        self.cause = Cause.UNKNOWN
        self.size_pa = 0.0
        self.least_size_pa = 0.0
        self._quiet = 0

    def look(self, bag: Track, pump: Track | None, known: Known) -> Cause:
        """Judge once more, a block later."""
        self.blocks += 1
        self.age_blocks += 1
        recent = min(12, CONFIRM_BLOCKS, len(bag))
        self.size_pa = bag.mean(recent) - self.base_bag_pa
        self.least_size_pa = self.size_pa - 1.5 * self.error_pa
        ripe = self.cause is Cause.UNKNOWN and self.blocks >= CONFIRM_BLOCKS
        ripe = ripe and bag.last() - bag.mean(recent) < FRESH_SHARE * self.size_pa
        highest_pa = OPENED_PA if self.blocks < RELEASE_BLOCKS else ROOM_PA
        if ripe and bag.last() < highest_pa and self._stays(bag):
            self.cause = self._judge(bag, pump, recent, known)
        return self.cause

    def is_over(self, bag: Track) -> bool:
        """Tell whether the level has come back for half a minute."""
        back = bag.last() - self.base_bag_pa < max(0.35 * self.size_pa, 1.5 * self.error_pa)
        self._quiet = self._quiet + 1 if back else 0
        return self._quiet >= 6

    def _stays(self, bag: Track) -> bool:
        """Gas that was shared with a second bag is pumped off again; a leak goes on."""
        fall_pa = -bag.slope_per_s(6) * 6 * BLOCK_S
        return fall_pa < max(0.15 * self.size_pa, 2.0 * self.error_pa)

    def _judge(self, bag: Track, pump: Track | None, recent: int, known: Known) -> Cause:
        if pump is None or self.base_pump_pa is None or len(pump) != len(bag):
            return self._by_shape(bag, known)
        pump_pa = pump.mean(recent) - self.base_pump_pa
        apart_pa = self.size_pa - pump_pa
        noise_pa = max(GAUGE_PA, known.noise_pa)
        if -apart_pa > max(4.5 * noise_pa, 0.1 * self.size_pa):
            return Cause.BACK_FLOW
        least_apart_pa = min(max(APART_NOISES * noise_pa, 0.1 * self.size_pa), 500.0)
        if self._pulls_as_before(bag, known):
            least_apart_pa = max(LEAST_APART_PA, LEAST_APART_SHARE * self.size_pa)
        large = self.size_pa > max(LEAST_PUMP_PA, 5.0 * noise_pa)
        if large and abs(apart_pa) <= least_apart_pa and self._jumped(bag, pump, known):
            return Cause.GAUGES
        if apart_pa <= least_apart_pa:
            # A leak that still creeps moves both as well: the bag must hardly stand out.
            seen = known.last_leak is not None and self._rises_shut(bag, known)
            most_apart_pa = (SHUT_APART_SHARE if seen else MOST_APART_SHARE) * self.size_pa
            together = apart_pa + TOGETHER_NOISES * noise_pa < most_apart_pa
            least_pa = max(LEAST_PUMP_PA, 5.0 * noise_pa) + self._barometer_pa
            both = together and self.size_pa > least_pa
            return Cause.PUMP_WEAK if both else Cause.UNKNOWN
        if pump_pa > max(1.5 * noise_pa, 0.05 * self.size_pa) or self._came_fast(bag, known):
            return self._leak_or_unknown(known)
        waited = self.blocks >= HAND_BLOCKS and self.size_pa > LEAST_CUT_PA
        if waited and pump_pa < max(noise_pa, 0.05 * self.size_pa) and self._rises_shut(bag, known):
            return Cause.CUT_OFF
        return Cause.UNKNOWN

    @property
    def _barometer_pa(self) -> float:
        """How much the room's pressure may have moved since the base."""
        return BAROMETER_PA_PER_S * self.age_blocks * BLOCK_S

    def _jumped(self, bag: Track, pump: Track, known: Known) -> bool:
        """Tell whether both went up from one block to the next and have stayed: no gas does that.

        Behind a pump the level follows within tau, so only a tau of some blocks tells.
        """
        if known.tau_s < JUMP_TAU_S or self.size_pa > MOST_SAG_PA:
            return False
        return all(
            _leap(track, self.blocks + 6) > JUMP_SHARE * self.size_pa for track in (bag, pump)
        )

    def _rises_shut(self, bag: Track, known: Known) -> bool:
        """Tell whether a drop test has seen such a rise; a gauge that drifts has its own."""
        rise = bag.slope_per_s(min(self.blocks, len(bag)))
        return known.last_leak is None or known.last_leak.explains(rise)

    def _pulls_as_before(self, bag: Track, known: Known) -> bool:
        """Tell whether the new level was reached within the tau that was known."""
        within = SLOWER_TAUS * known.tau_s / BLOCK_S + 1.5
        still_rises = bag.slope_per_s(CONFIRM_BLOCKS) * CONFIRM_BLOCKS * BLOCK_S
        return self._took(bag) <= within and still_rises < 0.15 * self.size_pa

    def _by_shape(self, bag: Track, known: Known) -> Cause:
        """Judge by the bag alone."""
        wait = round(8.0 * known.tau_s / BLOCK_S) + 12
        if self.blocks < min(wait, SLOW_BLOCKS) or self.size_pa < self._barometer_pa:
            return Cause.UNKNOWN
        recent = min(max(self.blocks // 2, LEAST_RISE_BLOCKS), RISE_BLOCKS)
        rise = bag.slope_per_s(recent)
        mean_rise = self.size_pa / (self.blocks * BLOCK_S)
        sure = rise > 3.0 * slope_error_pa_per_s(recent, known.noise_pa)
        goes_on = sure and rise > 0.4 * mean_rise
        if goes_on and self._is_shut_rise(rise, known):
            return Cause.PUMP_WEAK
        took, tau_blocks = self._took(bag), known.tau_s / BLOCK_S
        if took >= max(GRADUAL_TAUS * tau_blocks, GRADUAL_BLOCKS):
            mean_rise = 0.6 * self.size_pa / (took * BLOCK_S)
            shut = self._is_shut_rise(mean_rise, known)
            return Cause.PUMP_WEAK if shut else self._leak_or_unknown(known)
        if not goes_on and took > SLOWER_TAUS * tau_blocks + 1.5:
            large = self.size_pa > max(LEAST_PUMP_PA, 5.0 * self.error_pa)
            return Cause.PUMP_WEAK if large else Cause.UNKNOWN
        return self._leak_or_unknown(known)

    def _is_shut_rise(self, rise: float, known: Known) -> bool:
        """Tell whether it rises as a bag does that nobody pumps."""
        if rise > known.limit_pa_per_s:
            return True
        last = known.last_leak
        if last is None:
            return False
        most = max(1.2 * last.rise_pa_per_s, 0.8 * last.high_pa_per_s)
        return 0.4 * last.low_pa_per_s < rise < most

    def _took(self, bag: Track) -> int:
        """Blocks from a fifth to four fifths of the rise, looking back from now."""
        most = min(len(bag), self.blocks + 24)
        values = [bag.last(k) - self.base_bag_pa for k in range(most)]
        late = next((k for k, v in enumerate(values) if v < 0.8 * self.size_pa), most)
        early = next((k for k, v in enumerate(values) if v < 0.2 * self.size_pa), most)
        return early - late

    def _came_fast(self, bag: Track, known: Known) -> bool:
        """Tell whether the level rose faster than the limit lets a shut bag rise."""
        took_s = (self._took(bag) + 1) * BLOCK_S
        return 0.6 * self.size_pa - 2.0 * self.error_pa > known.limit_pa_per_s * took_s

    def _leak_or_unknown(self, known: Known) -> Cause:
        least = self.least_size_pa / (TAU_ERROR * known.tau_s)
        leak = least + (known.last_leak.rise_pa_per_s if known.last_leak is not None else 0.0)
        return Cause.LEAK if leak > known.limit_pa_per_s else Cause.UNKNOWN


def _leap(track: Track, blocks: int) -> float:
    """Give the largest rise over two neighbouring blocks: a jump may fall into one of them."""
    most = min(len(track) - 2, blocks)
    return max((track.last(k) - track.last(k + 2) for k in range(most)), default=0.0)
