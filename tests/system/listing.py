"""`python -m tests.system.listing FILE WORDS`: run `bagvigil WORDS`, then list its modules."""

from __future__ import annotations

import sys
from pathlib import Path

from firmware_host.cli import main


def run() -> int:
    """Run the command and write down what it had loaded when it ended."""
    exit_code = main(sys.argv[2:])
    Path(sys.argv[1]).write_text("\n".join(sorted(sys.modules)), encoding="utf-8")
    return exit_code


if __name__ == "__main__":
    sys.exit(run())
