"""Numerals of five rows: on a 10-inch panel 26 mm high, which is read at 3 m (ISO 9241-3).

A stroke is two cells wide, because a cell is about twice as high as wide.
"""

from __future__ import annotations

ROWS = 5
BLOCK, HASH = "\u2588", "#"

_SHAPES: dict[str, tuple[str, str, str, str, str]] = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    ":": (" ", "#", " ", "#", " "),
    ".": (" ", " ", " ", " ", "#"),
    " ": ("  ", "  ", "  ", "  ", "  "),
}


def big(text: str, *, ascii_only: bool = False) -> tuple[str, ...]:
    r"""Draw digits, '-', ':', '.' and spaces in five rows.

    Raises ValueError for any other character: it has no shape.

    >>> print("\n".join(row.rstrip() for row in big("1.5", ascii_only=True)))
      ##        ######
    ####        ##
      ##        ######
      ##            ##
    ######  ##  ######
    """
    for character in text:
        if character not in _SHAPES:
            raise ValueError(f"{character!r} has no big shape; only {''.join(_SHAPES)!r} have")
    stroke = HASH if ascii_only else BLOCK
    rows = []
    for row in range(ROWS):
        line = " ".join(_SHAPES[character][row] for character in text)
        rows.append("".join(pixel * 2 for pixel in line.replace("#", stroke)))
    return tuple(rows)
