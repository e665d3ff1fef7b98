"""The charts: vacuum over warmth over conversion on one time line, and each drop test by itself.

Nothing that a person wrote is drawn: only channel names and our own words get in here. Gaps stay
empty.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullLocator
from numpy.typing import NDArray

from firmware_host.model.channels import Role
from firmware_host.report.chart_style import (
    BLUE,
    GREY,
    INK,
    LIMIT_DASHES,
    ORANGE,
    PALE,
    STROKES,
    TINT,
    new_figure,
    styled,
    to_svg,
)
from firmware_host.report.decimate import Floats
from firmware_host.report.picture import Line, Picture, Pictures, Stretch, TestPicture

PAGE_WIDTH_MM = 182.0
TEST_SIZE_MM = (58.0, 40.0)
LOG_FROM_MBAR = 10.0
"""Below this the pressure scale is even: a transducer's zero may well be off by some mbar."""
NEAR_LIMIT_K = 12.0
"""A limit further above the curves than this is named, not drawn: it would flatten them."""
EDGE_SHARE = 0.1
"""A word this close to the right edge goes to the left of its line."""
CLOSE_SHARE = 0.08
"""Words closer than this do not stand in one row."""
ROW_SHARE, WORD_ROWS = 0.1, 4
_BACKING: dict[str, object] = {"facecolor": "#ffffff", "alpha": 0.8, "lw": 0.0, "pad": 0.5}
"""Behind a word that may stand on a curve or a hatch."""
LETTER_SHARE = 0.0085
"""Width of a letter against the width of the chart."""


def draw(pictures: Pictures) -> tuple[str, str | None, tuple[str, ...]]:
    """Draw the whole job, its wet hours where the whole is much longer, and each drop test."""
    early = pictures.early
    return (
        draw_picture(pictures.whole, salt="whole"),
        None if early is None else draw_picture(early, salt="early"),
        tuple(draw_test(test, salt=f"test{n}") for n, test in enumerate(pictures.tests)),
    )


def draw_picture(picture: Picture, *, salt: str, height_mm: float = 88.0) -> str:
    """Draw vacuum over temperature over conversion, on one time line."""
    with styled(salt):
        figure = new_figure(PAGE_WIDTH_MM, height_mm)
        heights = [0.3, 2.9, 3.2, 1.2 if picture.conversion else 0.01]
        ribbon, vacuum, warmth, cure = figure.subplots(
            4, 1, sharex=True, gridspec_kw={"height_ratios": heights, "hspace": 0.3}
        )
        figure.subplots_adjust(left=0.046, right=0.988, top=0.945, bottom=0.088)
        vacuum.set_xlim(picture.start_min, picture.end_min)
        _ribbon(ribbon, picture)
        _vacuum(vacuum, picture)
        _warmth(warmth, picture)
        lowest = _cure(cure, picture) or warmth
        for axes in (ribbon, vacuum, warmth, cure):
            axes.tick_params(axis="x", labelbottom=axes is lowest, bottom=axes is lowest)
        lowest.set_xlabel(f"minutes since {picture.origin.removeprefix('the ')}", labelpad=1.5)
        lowest.xaxis.set_major_locator(MaxNLocator(nbins=12, integer=True))
        return to_svg(figure)


def _ribbon(axes: Axes, picture: Picture) -> None:
    """Phases, and the time of day above them."""
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    for number, phase in enumerate(picture.phases):
        shade = TINT if number % 2 == 0 else PALE
        axes.axvspan(phase.start_min, phase.end_min, color=shade, lw=0.0)
        _word(axes, phase, picture, y=0.45)
    top = axes.secondary_xaxis("top")
    top.xaxis.set_major_locator(FixedLocator([at for at, _ in picture.clock_ticks]))
    names = dict(picture.clock_ticks)
    top.xaxis.set_major_formatter(FuncFormatter(lambda at, _: names.get(at, "")))
    top.tick_params(length=2.0, pad=1.0)
    top.spines["top"].set_visible(False)


def _word(axes: Axes, stretch: Stretch, picture: Picture, *, y: float) -> None:
    """Put a word into its stretch, where it fits."""
    start = max(stretch.start_min, picture.start_min)
    end = min(stretch.end_min, picture.end_min)
    share = (end - start) / (picture.end_min - picture.start_min)
    if share > LETTER_SHARE * (len(stretch.text) + 1):
        axes.text((start + end) / 2.0, y, stretch.text, ha="center", va="center", fontsize=6.5)


def _vacuum(axes: Axes, picture: Picture) -> None:
    axes.set_yscale("symlog", linthresh=LOG_FROM_MBAR, linscale=0.35)
    axes.set_ylim(_floor(picture.pressures), 1500.0)
    axes.yaxis.set_major_locator(FixedLocator([0.0, 10.0, 30.0, 100.0, 300.0, 1000.0]))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:.0f}"))
    _common(axes, picture)
    for test in picture.tests:
        axes.axvspan(
            test.start_min, test.end_min, facecolor=TINT, edgecolor=BLUE, lw=0.4, zorder=0.5
        )
        middle = (test.start_min + test.end_min) / 2.0
        axes.text(
            middle,
            0.975,
            test.text,
            ha="center",
            clip_on=True,
            va="top",
            fontsize=6.5,
            color=BLUE,
            transform=axes.get_xaxis_transform(),
        )
    if picture.gel_min is not None:
        at = picture.gel_min[1]
        _note(axes, at, 0.86, f"gel {at:.0f} min", color=ORANGE)
    for unseen in picture.unseen_vacuum:
        _hatch(axes, unseen)
    _lines(axes, picture.pressures)
    if picture.pressures:
        axes.axhline(picture.pressure_limit_mbar, color=ORANGE, lw=0.8, ls=LIMIT_DASHES)
        label = f"limit {picture.pressure_limit_mbar:.0f}"
        axes.plot([], [], color=ORANGE, lw=0.8, ls=LIMIT_DASHES, label=label)
    else:
        _not_measured(axes, "not measured")
    _heading(axes, "Pressure in the bag, mbar absolute")


def _floor(lines: Iterable[Line]) -> float:
    least = [float(np.nanmin(line.values)) for line in lines if np.isfinite(line.values).any()]
    return min([0.0, *(value * 1.1 for value in least)])


def _warmth(axes: Axes, picture: Picture) -> None:
    _common(axes, picture)
    scaled = [line for line in picture.temperatures if line.role is not Role.CUP]
    low, high = _reach(scaled or picture.temperatures)
    near = picture.highest_c <= high + NEAR_LIMIT_K
    axes.set_ylim(low - 2.0, max(high, picture.highest_c if near else high) + 3.0)
    _lines(axes, picture.temperatures, top=axes.get_ylim()[1])
    if near:
        axes.axhline(picture.highest_c, color=ORANGE, lw=0.8, ls=LIMIT_DASHES)
    label = f"limit {picture.highest_c:.0f} \u00b0C" + ("" if near else ", off this scale")
    axes.plot([], [], color=ORANGE, lw=0.8, ls=LIMIT_DASHES, label=label)
    close_min = CLOSE_SHARE * (picture.end_min - picture.start_min)
    rows = word_rows([at for at, _ in picture.moments], close_min)
    for (at, word), row in zip(picture.moments, rows, strict=True):
        axes.axvline(at, color=INK, lw=0.5, ls=":")
        _note(axes, at, 0.97 - ROW_SHARE * row, word)
    if not picture.temperatures:
        _not_measured(axes, "not measured")
    _heading(axes, "Temperature, \u00b0C")


def word_rows(at_min: Sequence[float], close_min: float) -> tuple[int, ...]:
    """Give each word a row in which the last one is not close; the lowest where all are taken.

    >>> word_rows([0.0, 1.0, 2.0, 20.0], 5.0)
    (0, 1, 2, 0)
    """
    ends = [-math.inf] * WORD_ROWS
    rows = []
    for at in at_min:
        free = (row for row, end in enumerate(ends) if at - end >= close_min)
        row = next(free, WORD_ROWS - 1)
        ends[row] = at
        rows.append(row)
    return tuple(rows)


def _reach(lines: Iterable[Line]) -> tuple[float, float]:
    held = [line.values[np.isfinite(line.values)] for line in lines]
    held = [values for values in held if len(values)]
    if not held:
        return 15.0, 25.0
    return min(float(v.min()) for v in held), max(float(v.max()) for v in held)


def _cure(axes: Axes, picture: Picture) -> Axes | None:
    band = picture.conversion
    if band is None:
        axes.set_visible(False)
        return None
    axes.set_ylim(0.0, 100.0)
    axes.yaxis.set_major_locator(FixedLocator([0.0, 50.0, 100.0]))
    _common(axes, picture)
    axes.fill_between(band.minutes, band.low, band.high, color=TINT, lw=0.0, zorder=1.0)
    for edge in (band.low, band.high):
        axes.plot(band.minutes, edge, color=BLUE, lw=0.4)
    axes.plot(band.minutes, band.middle, color=BLUE, lw=1.1)
    _heading(axes, "Conversion, %: an estimate with its 95 % interval, from the gel on")
    return axes


def _common(axes: Axes, picture: Picture) -> None:
    """Draw what every panel shows: a quiet grid, the gel, and what nobody watched."""
    axes.grid(axis="y", color=PALE, lw=0.5)
    axes.set_axisbelow(True)
    if picture.gel_min is not None:
        low, middle, high = picture.gel_min
        axes.axvspan(low, high, color=ORANGE, alpha=0.16, lw=0.0, zorder=0.4)
        axes.axvline(middle, color=ORANGE, lw=0.9)
    for gap in picture.gaps:
        _hatch(axes, gap)
        _word(axes, gap, picture, y=sum(axes.get_ylim()) / 2.0)


def _note(axes: Axes, at: float, height: float, text: str, *, color: str = INK) -> None:
    """Put a word beside an upright line, on the side where there is room."""
    start, end = axes.get_xlim()
    at_right = at > end - EDGE_SHARE * (end - start)
    axes.annotate(
        text,
        xy=(at, height),
        xycoords=axes.get_xaxis_transform(),
        xytext=(-2.5 if at_right else 2.5, 0.0),
        textcoords="offset points",
        ha="right" if at_right else "left",
        va="top",
        fontsize=6.5,
        color=color,
        bbox=_BACKING,
    )


def _heading(axes: Axes, text: str) -> None:
    """Say above a panel what it shows, and which line is which."""
    axes.text(0.0, 1.035, text, fontsize=7.0, weight="bold", transform=axes.transAxes)
    handles, labels = axes.get_legend_handles_labels()
    if handles:
        axes.legend(
            loc="lower right",
            ncols=len(labels),
            bbox_to_anchor=(1.0, 0.985),
            borderaxespad=0.0,
            borderpad=0.1,
        )


def _hatch(axes: Axes, stretch: Stretch) -> None:
    """Nothing was seen here; its edges are drawn so that a short one does not vanish."""
    axes.axvspan(
        stretch.start_min,
        stretch.end_min,
        facecolor="#ffffff",
        edgecolor=GREY,
        hatch="////",
        lw=0.5,
        zorder=0.6,
    )


def _lines(axes: Axes, lines: Iterable[Line], top: float | None = None) -> None:
    used: dict[Role, int] = {}
    for line in lines:
        strokes = STROKES[line.role]
        color, dashes, width = strokes[used.get(line.role, 0) % len(strokes)]
        used[line.role] = used.get(line.role, 0) + 1
        axes.plot(
            line.minutes, line.values, color=color, ls=dashes, lw=width, label=_name(line, top)
        )
        alone = _alone(line.values)
        if alone.any():
            axes.plot(line.minutes[alone], line.values[alone], ".", color=color, ms=1.6)


def _name(line: Line, top: float | None) -> str:
    held = line.values[np.isfinite(line.values)]
    if top is None or not len(held) or held.max() <= top:
        return line.name
    return f"{line.name}, up to {held.max():.0f} \u00b0C"


def _alone(values: Floats) -> NDArray[np.bool_]:
    """Find readings with nothing on either side: a line through them would show nothing."""
    missing = np.isnan(values)
    before, after = np.append(True, missing[:-1]), np.append(missing[1:], True)
    return np.asarray(~missing & before & after)


def _not_measured(axes: Axes, text: str) -> None:
    axes.text(0.5, 0.5, text, ha="center", va="center", color=GREY, transform=axes.transAxes)


def draw_test(test: TestPicture, *, salt: str) -> str:
    """Draw one drop test with the rise that the rule would let pass."""
    with styled(salt):
        figure = new_figure(*TEST_SIZE_MM)
        axes = figure.subplots()
        figure.subplots_adjust(left=0.15, right=0.98, top=0.87, bottom=0.2)
        axes.set_title(test.title, loc="left", fontsize=7.0, pad=3.0)
        axes.axvspan(test.start_min, test.end_min, facecolor=TINT, lw=0.0, zorder=0.5)
        _lines(axes, [test.bag])
        if test.from_mbar is not None:
            rise = test.limit_mbar_per_min * test.end_min
            axes.plot(
                [0.0, test.end_min],
                [test.from_mbar, test.from_mbar + rise],
                color=ORANGE,
                lw=0.9,
                ls=LIMIT_DASHES,
                label="rule",
            )
            axes.set_ylim(*_test_reach(test, rise))
        axes.set_xlabel("minutes in the test", labelpad=1.5)
        axes.set_ylabel("mbar", labelpad=2.0)
        axes.legend(loc="upper left")
        return to_svg(figure)


def _test_reach(test: TestPicture, rise: float) -> tuple[float, float]:
    """Give a scale on which the test fills the picture, whatever was before and after it."""
    inside = (test.bag.minutes >= 0.0) & (test.bag.minutes <= test.end_min)
    values = test.bag.values[inside & np.isfinite(test.bag.values)]
    top = max(float(values.max()), (test.from_mbar or 0.0) + rise)
    bottom = float(values.min())
    room = max(top - bottom, 2.0)
    return bottom - 0.15 * room, top + 0.45 * room
