"""How a command speaks: results to stdout, the rest to stderr, progress on one line of a terminal.

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


class ProgressLine:
    """A share that is done, shown on a terminal and nowhere else."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._shown = -1
        self._live = sys.stderr.isatty()

    def __call__(self, share: float) -> None:
        """Show the share, 0 to 1, where it moved by a whole percent."""
        percent = int(share * 100.0)
        if not self._live or percent == self._shown:
            return
        self._shown = percent
        sys.stderr.write(f"\r{self._what} {percent:3d} %" + ("\n" if percent >= 100 else ""))
        sys.stderr.flush()
