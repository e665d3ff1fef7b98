"""How a command speaks: results to stdout, the rest to stderr.

Text that comes from a file or a person is made plain first: it never carries control bytes.
"""

from __future__ import annotations

import sys
import unicodedata


def plain(text: str) -> str:
    r"""Strip what could steer a terminal: control, format and bidirectional characters.

    >>> plain("hatch \x1b[31mcover\u202e")
    'hatch [31mcover'
    """
    return "".join(c for c in text if c == "\n" or unicodedata.category(c)[0] != "C")


def tell(text: str) -> None:
    """Give a result."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def aside(text: str) -> None:
    """Say something that is not the result."""
    sys.stderr.write(text + "\n")
    sys.stderr.flush()
