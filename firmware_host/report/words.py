"""How the report spells numbers, times and text: fixed formats, units of the bench.

Pure. Units are those of people: mbar, degC, minutes. Text that came from a file or a person loses
whatever could steer a screen or turn a line of writing around.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import datetime, timedelta

from hardware.units import ZERO_CELSIUS_K

MBAR_PA = 100.0
FIVE_MINUTES_S = 300.0
NBSP = "\u00a0"
MINUS = "\u2212"
DEGREE = "\u00b0"


def clean(text: str) -> str:
    r"""Take out control, format, bidirectional and unassigned characters; keep what can be read.

    >>> clean("hatch\x1b[31m\u202e\u200b cover\n2")
    'hatch[31m cover 2'
    """
    spaced = "".join(" " if c in "\t\n\r\v\f\x85\u2028\u2029" else c for c in text)
    return "".join(c for c in spaced if unicodedata.category(c)[0] != "C")


def brief(text: str, longest: int) -> str:
    """Shorten a text that has to fit a place.

    >>> brief("kayak hatch cover", 12)
    'kayak hatch\u2026'
    """
    whole = clean(text).strip()
    return whole if len(whole) <= longest else whole[: longest - 1].rstrip() + "\u2026"


def spaced(name: str) -> str:
    """Spell one of our own names for people: underscores become spaces."""
    return name.replace("_", " ")


def celsius(temp_k: float) -> str:
    """Spell a temperature."""
    return f"{_signed(temp_k - ZERO_CELSIUS_K, 1)}{NBSP}{DEGREE}C"


def mbar(pressure_pa: float) -> str:
    """Spell a pressure, absolute; tenths only where they mean something."""
    value = pressure_pa / MBAR_PA
    return f"{_signed(value, 1 if abs(value) < 9.95 else 0)}{NBSP}mbar"


def mbar_in_5_min(rise_pa_per_s: float) -> str:
    """Spell a rise as people time it: by how much in five minutes.

    >>> mbar_in_5_min(3.3).replace(NBSP, " ")
    '9.9 mbar in 5 min'
    """
    value = rise_pa_per_s * FIVE_MINUTES_S / MBAR_PA
    return f"{_signed(value, 1 if abs(value) < 99.95 else 0)}{NBSP}mbar in 5{NBSP}min"


def percent(fraction: float) -> str:
    """Spell a share in whole percent."""
    return f"{fraction * 100.0:.0f}{NBSP}%"


def number(value: float) -> str:
    """Spell a number of the job description as its author would.

    >>> number(1.50), number(1650.0), number(0.0035)
    ('1.5', '1650', '0.0035')
    """
    return f"{value:.6g}"


def duration(seconds: float) -> str:
    """Spell how long something took.

    >>> [duration(s).replace(NBSP, " ") for s in (20.2, 150.0, 7380.0)]
    ['20 s', '2.5 min', '2 h 03 min']
    """
    if seconds < 99.5:
        return f"{max(seconds, 0.0):.0f}{NBSP}s"
    if seconds < 600.0:
        return f"{seconds / 60.0:.1f}{NBSP}min".replace(".0", "")
    minutes = round(seconds / 60.0)
    if minutes < 100:
        return f"{minutes}{NBSP}min"
    return f"{minutes // 60}{NBSP}h{NBSP}{minutes % 60:02d}{NBSP}min"


def several(count: int, one: str, many: str = "") -> str:
    """Spell a count with its noun.

    >>> several(1, "gap"), several(3, "gap")
    ('1 gap', '3 gaps')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: tuple[str, ...] | list[str]) -> str:
    """Join names as a sentence does.

    >>> listed(["bag", "pump", "part1"])
    'bag, pump and part1'
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _signed(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeWords:
    """Spells moments of the job's time line: of the day, and since mixing."""

    zero_wall: datetime | None
    """Date and time of the job's zero; None where nothing tells it."""
    mixed_s: float | None
    """From here minutes count; None: from where watching began."""

    @property
    def origin_s(self) -> float:
        """Where minutes count from."""
        return self.mixed_s if self.mixed_s is not None else 0.0

    @property
    def origin(self) -> str:
        """What minutes count from, in words."""
        return "mixing" if self.mixed_s is not None else "the start of the record"

    def minutes(self, time_s: float) -> float:
        """Minutes since mixing."""
        return (time_s - self.origin_s) / 60.0

    def since(self, time_s: float) -> str:
        """Spell minutes since mixing, whole ones."""
        text = _signed(self.minutes(time_s), 0)
        return f"{text}{NBSP}min" if text.startswith(MINUS) else f"+{text}{NBSP}min"

    def wall(self, time_s: float) -> str:
        """Spell the time of day; a dash where nothing tells it."""
        return "\u2013" if self.zero_wall is None else f"{self._at(time_s):%H:%M}"

    def wall_seconds(self, time_s: float) -> str:
        """Spell the time of day to the second, with the date where it is not the first day."""
        if self.zero_wall is None:
            return "\u2013"
        return f"{self._other_day(time_s, since_s=0.0)}{self._at(time_s):%H:%M:%S}"

    def when(self, time_s: float) -> str:
        """Spell the time of day, with the date where it is not the day of the origin."""
        if self.zero_wall is None:
            return "\u2013"
        return f"{self._other_day(time_s, since_s=self.origin_s)}{self._at(time_s):%H:%M}"

    def date(self, time_s: float) -> str:
        """Spell the date."""
        return "" if self.zero_wall is None else f"{self._at(time_s):%d} {self._month(time_s)}"

    def zone(self) -> str:
        """Spell the offset of all times of day."""
        if self.zero_wall is None:
            return ""
        return f"UTC{self.zero_wall:%z}"[:6] + ":" + f"{self.zero_wall:%z}"[3:5]

    def _at(self, time_s: float) -> datetime:
        if self.zero_wall is None:
            raise ValueError("this record does not tell the time of day")
        return self.zero_wall + timedelta(seconds=time_s)

    def _other_day(self, time_s: float, *, since_s: float) -> str:
        at = self._at(time_s)
        if at.date() == self._at(since_s).date():
            return ""
        return f"{at:%d} {_MONTHS[at.month - 1][:3]} "

    def _month(self, time_s: float) -> str:
        at = self._at(time_s)
        return f"{_MONTHS[at.month - 1]} {at.year}"


_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
"""Not from the locale: the page must not change with who makes it."""
