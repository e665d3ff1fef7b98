"""A room for every test; whatever runs in it ends with the test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.system.room import Room


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    made = Room(tmp_path)
    yield made
    made.close()
