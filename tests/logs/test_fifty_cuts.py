"""A recorded log cut at any row gives the inputs that the whole log gives up to the cut.

The core takes inputs one by one and looks at none that has not come, so that equal inputs make
equal words; `test_six_jobs` takes some of the cuts through the core as well.
"""

from __future__ import annotations

import gzip
import random
from pathlib import Path

import pytest

from firmware_host.inputs.csv_log import open_log
from firmware_host.model.samples import Input
from tests.logs.test_six_jobs import HERE, TRUTH, inputs_of

pytestmark = pytest.mark.campaign

CUTS_EACH = 9
"""Times six logs: 54 cuts."""


def inputs_until(path: Path, lines: list[bytes]) -> list[Input]:
    path.write_bytes(b"\n".join(lines) + b"\n")
    return list(open_log(path).inputs())


@pytest.mark.parametrize("name", TRUTH)
def test_what_the_core_is_told_does_not_depend_on_later_rows(name: str, tmp_path: Path) -> None:
    lines = gzip.decompress((HERE / f"{name}.csv.gz").read_bytes()).splitlines()
    _, whole = inputs_of(name)
    rng = random.Random(name)
    for rows in rng.sample(range(100, len(lines)), CUTS_EACH):
        cut = inputs_until(tmp_path / "cut.csv", lines[: rows + 1])
        assert cut == list(whole[: len(cut)])
        assert len(cut) >= rows
