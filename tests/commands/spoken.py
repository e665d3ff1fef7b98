"""Run a command in this process and keep what it said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from firmware_host.cli import main


@dataclass(frozen=True, slots=True)
class Spoken:
    """What a command left behind."""

    code: int
    out: str
    err: str


Say = Callable[..., Spoken]


def speaker(capsys: pytest.CaptureFixture[str]) -> Say:
    """Give a function that runs `bagvigil WORDS`. Whatever is raised is a traceback, and fails."""

    def say(*words: object) -> Spoken:
        capsys.readouterr()
        try:
            code = main([str(word) for word in words])
        except SystemExit as left:  # argparse: a usage error, or --help
            code = left.code if isinstance(left.code, int) else 1
        heard = capsys.readouterr()
        return Spoken(code, heard.out, heard.err)

    return say
