"""`python -m tests.bench NAME [--full] [--seed N]`: run a bench and print its table.

Exit code 0 when the goal is met, 1 when it is not. `--full` also keeps the table in `results/`.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests.bench.machine import fingerprint
from tests.bench.registry import BENCHES

RESULTS = Path(__file__).parent / "results"


def main() -> int:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("name", nargs="?", choices=list(BENCHES), metavar="NAME")
    parser.add_argument("--list", action="store_true", help="name the benches")
    parser.add_argument("--full", action="store_true", help="take long, and keep the table")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    if given.list:
        print("\n".join(BENCHES))
        return 0
    if given.name is None:
        parser.error(f"which bench? One of {', '.join(BENCHES)}")
    found = BENCHES[given.name](given.seed, full=given.full)
    text = f"{found.name}\n{fingerprint(given.seed, full=given.full)}\n\n{found.table()}\n"
    print(text, end="")
    if given.full:
        RESULTS.mkdir(exist_ok=True)
        (RESULTS / f"{found.name}.txt").write_text(text, encoding="utf-8")
    return 0 if found.is_met else 1


if __name__ == "__main__":
    sys.exit(main())
