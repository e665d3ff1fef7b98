"""A curve drawn with plain characters: blocks and a thin frame, or 7-bit characters only.

No braille: a bare console has no shapes for it, and nobody reads it from across the room.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboard.shown import Curve

if TYPE_CHECKING:
    from textual_plotext import Plot

BLOCK, HASH = "\u2588", "#"
LIMIT = "-"
_LEAST_CELLS, _LEAST_ROWS = 20, 4
_TO_ASCII = str.maketrans(
    {"\u2502": "|", "\u2524": "|", "\u2500": "-", "\u252c": "+", "\u2514": "+", "\u2588": "#"}
)


def drawn(curve: Curve, cells: int, rows: int, *, ascii_only: bool = False) -> tuple[str, ...]:
    """Draw a curve with its title into a place of this size."""
    title = f" {curve.title}"[:cells]
    if not curve.segments:
        return (title, "   nothing measured yet")
    if cells < _LEAST_CELLS or rows < _LEAST_ROWS:
        return (title,)
    # The library is loaded with the first curve, so that the first screen need not wait for it.
    from textual_plotext import Plot

    plot = Plot()
    set_up(plot, curve, cells, rows - 1)
    picture = plot.uncolorize(plot.build())
    if ascii_only:
        picture = picture.translate(_TO_ASCII)
    return (title, *(row.rstrip() for row in picture.rstrip("\n").split("\n")))


def set_up(plot: Plot, curve: Curve, cells: int, rows: int) -> None:
    """Describe the picture to the plotting library."""
    plot.clear_figure()
    plot.theme("clear")
    plot.plotsize(cells, rows)
    plot._set_size(cells, rows)  # plotsize alone keeps the terminal's own size
    plot.xaxes(True, False)  # noqa: FBT003 - the library's own signature
    plot.yaxes(True, False)  # noqa: FBT003 - the library's own signature
    plot.ylim(curve.low, curve.high)
    plot.xlim(curve.start_s, curve.end_s)
    plot.yticks([at for at, _ in curve.labels], [text for _, text in curve.labels])
    plot.xticks([at for at, _ in curve.time_labels], [text for _, text in curve.time_labels])
    if curve.wanted_below is not None:
        plot.plot([curve.start_s, curve.end_s], [curve.wanted_below] * 2, marker=LIMIT)
    for segment in curve.segments:
        plot.plot([at for at, _ in segment], [value for _, value in segment], marker=BLOCK)
