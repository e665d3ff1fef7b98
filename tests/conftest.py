"""Which tests run and where: a seeded third of each campaign, the whole suite on several cores."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any
from zlib import crc32

import pytest

if TYPE_CHECKING:
    from tests.workers import FirstForRealTime

SHARE = 3
SEED = "1"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--whole", action="store_true", help="run campaigns whole, not a seeded third of each"
    )


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Where nothing is named, and nobody looks at each test, take as many workers as fit."""
    option = config.option
    if not config.pluginmanager.hasplugin("xdist") or option.numprocesses is not None:
        return
    if "PYTEST_XDIST_WORKER" in os.environ:  # a worker has no workers of its own
        return
    if option.file_or_dir or option.usepdb or option.collectonly or option.capture == "no":
        return
    from tests.workers import count  # needs the plugin

    if count() > 1:
        option.numprocesses = count()


def pytest_runtest_logstart(nodeid: str) -> None:
    if "PYTEST_XDIST_WORKER" in os.environ:
        from tests.workers import step_back  # needs the plugin

        step_back(nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> FirstForRealTime:  # noqa: ANN401 - the plugin's own
    from tests.workers import FirstForRealTime  # needs the plugin

    config.option.loadscopereorder = False  # the order is that of `pytest_collection_modifyitems`
    return FirstForRealTime(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if hasattr(config, "workerinput"):
        from tests.workers import PATIENCE_S, is_on_real_time, turn  # needs the plugin

        items.sort(key=lambda item: turn(item.nodeid))
        for item in items:
            if not is_on_real_time(item.nodeid) and not item.get_closest_marker("timeout"):
                item.add_marker(pytest.mark.timeout(PATIENCE_S))
    if config.getoption("--whole") or any("::" in arg for arg in config.args):
        return
    left = [item for item in items if item.get_closest_marker("campaign") and not _drawn(item)]
    if left:
        config.hook.pytest_deselected(items=left)
        out = set(left)
        items[:] = [item for item in items if item not in out]


def _drawn(item: pytest.Item) -> bool:
    return crc32((SEED + item.nodeid).encode()) % SHARE == 0
