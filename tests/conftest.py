"""Campaigns: of tests that try one thing over a whole matrix, a seeded third runs at a time."""

from __future__ import annotations

from zlib import crc32

import pytest

SHARE = 3
SEED = "1"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--whole", action="store_true", help="run campaigns whole, not a seeded third of each"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--whole") or any("::" in arg for arg in config.args):
        return
    left = [item for item in items if item.get_closest_marker("campaign") and not _drawn(item)]
    if left:
        config.hook.pytest_deselected(items=left)
        out = set(left)
        items[:] = [item for item in items if item not in out]


def _drawn(item: pytest.Item) -> bool:
    return crc32((SEED + item.nodeid).encode()) % SHARE == 0
