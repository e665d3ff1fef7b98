"""The service's units: shut as tight as they claim, and naming commands that there are."""

from __future__ import annotations

import configparser
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from firmware_host.cli import COMMANDS, main

SERVICE = Path(__file__).parents[2] / "hardware" / "service"
UNITS = sorted(SERVICE.glob("*.service"))
MOST_EXPOSURE = 1.6
needs_analyze = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="systemd-analyze is missing"
)


class _Unit(configparser.RawConfigParser):
    """A unit file: keys keep their case; of a key that stands there twice the last one is kept."""

    def __init__(self, path: Path) -> None:
        super().__init__(strict=False, interpolation=None)
        self.read_string(path.read_text(encoding="utf-8"))

    def optionxform(self, optionstr: str) -> str:
        return optionstr


def test_there_is_a_unit_for_the_watch_and_one_for_the_panel() -> None:
    assert [unit.name for unit in UNITS] == ["bagvigil-panel@.service", "bagvigil@.service"]


@needs_analyze
@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.name)
def test_a_unit_is_hardly_exposed(unit: Path, tmp_path: Path) -> None:
    said = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--no-pager", str(unit)],
        capture_output=True,
        text=True,
        timeout=60.0,
        check=False,
    )
    found = re.search(r"Overall exposure level for .*: ([0-9.]+)", said.stdout)
    assert found is not None, said.stderr
    assert float(found[1]) <= MOST_EXPOSURE, said.stdout
    loose = tmp_path / unit.name
    loose.write_text("[Service]\nExecStart=/bin/true\n", encoding="utf-8")
    bare = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--no-pager", str(loose)],
        capture_output=True,
        text=True,
        timeout=60.0,
        check=False,
    )
    assert "UNSAFE" in bare.stdout, "the measure itself must tell a loose unit"


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.name)
def test_a_unit_starts_a_command_that_takes_these_words(
    unit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    program, command, *words = _Unit(unit)["Service"]["ExecStart"].split()
    assert program == "/opt/bagvigil/bin/bagvigil"
    assert command in COMMANDS
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    help_text = capsys.readouterr().out
    assert all(word in help_text for word in words if word.startswith("--"))


def test_the_watch_is_started_again_whatever_ended_it_but_for_a_wrong_file() -> None:
    service = _Unit(SERVICE / "bagvigil@.service")["Service"]
    assert (service["Restart"], service["RestartPreventExitStatus"]) == ("always", "2")
    assert service["Type"] == "notify"
    assert float(service["WatchdogSec"]) == 30.0


def test_the_panel_owns_the_first_screen() -> None:
    unit = _Unit(SERVICE / "bagvigil-panel@.service")
    assert unit["Unit"]["Conflicts"] == "getty@tty1.service"
    service = unit["Service"]
    assert {service[key] for key in ("StandardInput", "StandardOutput", "StandardError")} == {"tty"}
    assert service["TTYPath"] == "/dev/tty1"


def test_the_notes_name_every_file() -> None:
    notes = (SERVICE / "install.md").read_text(encoding="utf-8")
    assert "60-bagvigil.rules" in notes
    assert "hardware/service/*.service" in notes
    for unit in UNITS:
        assert unit.name.removesuffix(".service") in notes
