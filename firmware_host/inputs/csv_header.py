"""Header row of a recorded log: which column is which channel, in which unit.

First column `time_s` or `time`, then `<channel>:<unit>` each, last perhaps `mark`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from firmware_host.config.wording import nearest, shown
from firmware_host.errors import InputError
from firmware_host.model.channels import Channel, Quantity, Role, channel_named
from hardware.units import PRESSURE_UNITS, TEMPERATURE_UNITS

UNITS_OF = {Quantity.PRESSURE: PRESSURE_UNITS, Quantity.TEMPERATURE: TEMPERATURE_UNITS}
_TIME_NAMES = ("time_s", "time")
_ROLE_NAMES = tuple("part1" if role is Role.PART else str(role) for role in Role)


@dataclass(frozen=True, slots=True)
class Column:
    """One channel's column."""

    channel: Channel
    unit: str
    quantity: Quantity
    """The role's; kept, because every cell asks."""

    @property
    def title(self) -> str:
        """As it stands in the header."""
        return f"{self.channel.name}:{self.unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What every further row holds."""

    by_date: bool
    """Whether the first column is `time`, date and time, and not `time_s`."""
    columns: tuple[Column, ...]
    has_marks: bool

    @property
    def width(self) -> int:
        """Cells in a row."""
        return 1 + len(self.columns) + self.has_marks


def read_header(cells: Sequence[str]) -> Header:
    """Understand a header row. Raises InputError with every problem of it."""
    names = [cell.strip() for cell in cells]
    if len(names) == 1 and any(sign in names[0] for sign in ";\t"):
        raise InputError(
            [
                "columns are not separated by commas. Save the log again with a comma between "
                "cells and a point in decimals."
            ]
        )
    problems: list[str] = []
    if names[0] not in _TIME_NAMES:
        problems.append(f"the first column must be time_s or time, not {shown(names[0])}.")
    has_marks = len(names) > 1 and names[-1] == "mark"
    titles = names[1:-1] if has_marks else names[1:]
    columns = _columns(titles, problems)
    if not titles and not has_marks:
        problems.append("there is no column besides the time; add one like bag:Pa.")
    if problems:
        raise InputError(problems)
    return Header(by_date=names[0] == "time", columns=columns, has_marks=has_marks)


def _columns(titles: Sequence[str], problems: list[str]) -> tuple[Column, ...]:
    columns: dict[str, Column] = {}
    for title in titles:
        try:
            column = _column(title)
        except ValueError as error:
            problems.append(str(error))
            continue
        if column.channel.name in columns:
            problems.append(f"column {shown(title)}: the channel stands in two columns. Keep one.")
        columns[column.channel.name] = column
    return tuple(columns.values())


def _column(title: str) -> Column:
    name, colon, unit = title.partition(":")
    if title == "mark":
        raise ValueError("column mark must be the last one, and only once.")
    if not colon:
        hint = nearest(title, ("mark", "time_s"))
        raise ValueError(f"column {shown(title)} has no unit: write it like bag:Pa.{hint}")
    try:
        channel = channel_named(name)
    except ValueError:
        raise ValueError(
            f"column {shown(title)} begins with no role; the roles are "
            f"{', '.join(_ROLE_NAMES)}.{nearest(name, _ROLE_NAMES)}"
        ) from None
    quantity = channel.role.quantity
    units = UNITS_OF[quantity]
    if unit not in units:
        raise ValueError(
            f"column {shown(title)} is a {quantity}: its unit must be one of "
            f"{', '.join(units)}, not {shown(unit)}.{nearest(unit, units)}"
        )
    return Column(channel, unit, quantity)
