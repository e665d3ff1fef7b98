"""How the charts look, and how a figure becomes an element of the page.

Blue and orange, told apart by stroke as well, so that a grey copy still reads. The same numbers
give the same bytes: no date, no random names.
"""

from __future__ import annotations

import io
import re
from contextlib import AbstractContextManager
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from firmware_host.model.channels import Role

INK, BLUE, ORANGE = "#1c2733", "#1f5a94", "#c2611a"
GREY, PALE, TINT = "#6d7783", "#e3e8ed", "#dbe7f3"
MM_PER_INCH = 25.4
LIMIT_DASHES = (0, (6, 2, 1, 2))
STROKES: dict[Role, tuple[tuple[str, Any, float], ...]] = {
    Role.BAG: ((BLUE, "-", 1.1),),
    Role.PUMP: ((GREY, (0, (4, 2)), 0.8),),
    Role.PART: ((BLUE, "-", 1.2), (BLUE, (0, (5, 1.5)), 0.9), (BLUE, (0, (1, 1)), 1.0)),
    Role.MOULD: ((INK, (0, (6, 1.5, 1, 1.5)), 0.8),),
    Role.SHOP: ((GREY, (0, (1, 1.4)), 0.9),),
    Role.CUP: ((ORANGE, (0, (3, 1.2)), 0.8),),
}
_STYLE: Any = {
    "svg.fonttype": "none",
    "font.family": ["DejaVu Sans"],
    "font.size": 7.0,
    "axes.linewidth": 0.5,
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "axes.labelsize": 7.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.width": 0.5,
    "ytick.major.width": 0.5,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "text.color": INK,
    "hatch.linewidth": 0.4,
    "hatch.color": GREY,
    "legend.frameon": False,
    "legend.fontsize": 6.5,
    "legend.handlelength": 2.4,
    "legend.columnspacing": 1.4,
    "legend.handletextpad": 0.5,
    "legend.borderaxespad": 0.2,
    "path.simplify": True,
    "text.parse_math": False,
}


def styled(salt: str) -> AbstractContextManager[None]:
    """Draw in our style; `salt` keeps the inner names of two charts on one page apart."""
    return mpl.rc_context({**_STYLE, "svg.hashsalt": salt})


def new_figure(width_mm: float, height_mm: float) -> Figure:
    """Begin a figure."""
    return Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH))


def to_svg(figure: Figure) -> str:
    """Give the figure as an element for a page: no prologue, no size, no unused names."""
    target = io.BytesIO()
    FigureCanvasSVG(figure)
    empty = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    figure.savefig(target, format="svg", metadata=empty, transparent=True)
    text = target.getvalue().decode()
    text = text[text.index("<svg") :].rstrip()
    text = re.sub(r' (?:width|height)="[0-9.]+pt"', "", text, count=2)
    text = re.sub(r' xmlns(?::xlink)?="[^"]*"', "", text, count=2)
    # A hundredth of a point is less than a printer's dot.
    text = re.sub(r' d="([^"]*)"', lambda m: re.sub(r"(?<=\.\d\d)\d+", "", m[0]), text)
    used = set(re.findall(r'(?:url\(#|href="#)([^)"]+)', text))
    return re.sub(r' id="([^"]*)"', lambda m: m[0] if m[1] in used else "", text)
