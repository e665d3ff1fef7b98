"""How a command speaks: results to stdout, the rest to stderr.

Whatever is said is made plain on the way out: text of a file or a person never steers a terminal.
"""

from __future__ import annotations

import sys
import unicodedata


def plain(text: str) -> str:
    r"""Strip what could steer a terminal: control, format and bidirectional characters.

    >>> plain("hatch \x1b[31mcover\u202e")
    'hatch [31mcover'
    """
    return "".join(c for c in text if c == "\n" or _is_plain(c))


def one_line(text: str) -> str:
    r"""Make plain what a file or a person wrote, so that it cannot pass for a line of ours.

    >>> one_line("noted\nmixed: noted")
    'noted mixed: noted'
    """
    return plain(" ".join(text.split()))


def tell(text: str) -> None:
    """Give a result."""
    sys.stdout.write(plain(text) + "\n")
    sys.stdout.flush()


def aside(text: str) -> None:
    """Say something that is not the result."""
    sys.stderr.write(plain(text) + "\n")
    sys.stderr.flush()


def _is_plain(character: str) -> bool:
    category = unicodedata.category(character)
    return category[0] != "C" and category not in ("Zl", "Zp")
