"""A past job's text as the start of a new one: what was true of that day only becomes a comment.

Temperatures of another morning, reasons set aside for another cup, and weights of another part must
not speak for this one. Everything else stays to the letter. Pure.
"""

from __future__ import annotations

import re

OF_THAT_DAY = ("conditions", "overrides", "weighed")
_HEADER = re.compile(r"\s*\[{1,2}\s*([A-Za-z_]+)\s*\]{1,2}")
_NOTE = "# Of the job that was copied; measure, or say, anew:\n"


def copied(text: str) -> str:
    r"""Comment out the tables of that day.

    >>> copied('[job]\npart = "x"\n[conditions]\nshop_c = 12.0\n').splitlines()[2:]
    ['# Of the job that was copied; measure, or say, anew:', '# [conditions]', '# shop_c = 12.0']
    """
    lines = []
    inside = False
    for line in text.splitlines(keepends=True):
        header = _HEADER.match(line)
        if header is not None:
            inside = header[1] in OF_THAT_DAY
            if inside:
                lines.append(_NOTE)
        still = not inside or not line.strip() or line.lstrip().startswith("#")
        lines.append(line if still else f"# {line}")
    return "".join(lines)
