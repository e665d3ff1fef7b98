"""Every test of a command runs in a folder of its own, without a terminal."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands.spoken import Say, speaker


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    return speaker(capsys)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path
