"""The error tree: one root, leaves by who must act, the built-in as co-parent.

A message names the thing, the value, the limit and the next step; it is written for the person
at the bench and is shown to them as it stands.
"""

from __future__ import annotations

from collections.abc import Sequence


class MonitorError(Exception):
    """Root of everything Bag Vigil raises on purpose."""

    exit_code = 1


class InputError(MonitorError, ValueError):
    """A file or an argument is wrong; the person mends it. Carries every problem found."""

    exit_code = 2

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))


class BusyError(MonitorError, OSError):
    """A port, socket or record is in use by somebody else; try again later."""

    exit_code = 3


class LinkLostError(MonitorError, OSError):
    """A port went away while it was being read; the reader opens it again by itself."""

    exit_code = 3


class RecordError(MonitorError, OSError):
    """The record cannot be opened or read as what it claims to be."""

    exit_code = 1


class TakeUpError(RecordError):
    """A job that was cut off cannot be gone on with; a new one may be begun at once."""


class IllegalTransitionError(MonitorError, ValueError):
    """A state machine was given an input that its table does not hold."""
