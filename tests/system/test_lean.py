"""What the daemon loads: a small board has no room for what only the panel or a report needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.inputs.boards import hello
from tests.inputs.cable import Cable
from tests.system.room import Room
from tests.waiting import until

ROOT = Path(__file__).parents[2]
TOO_HEAVY = {"scipy", "matplotlib", "textual", "pandas", "numba", "PIL", "hypothesis", "pytest"}
NOT_ITS_OWN = {"dashboard", "simulations"}
ONLY_WHERE_ASKED_FOR = {"gpiozero", "lgpio", "spidev", "smbus2", "minimalmodbus"}
"""Extras: a bench file names what needs them."""
LATER = {"numpy", "firmware_host.core", "firmware_host.loop", "firmware_host.batch"}
"""Most of a start; a board that comes back after a cut of power samples before."""


def test_a_daemon_that_watched_a_board_has_loaded_nothing_heavy(room: Room) -> None:
    room.write_bench()
    cable = Cable(room.device)
    cable.plug()
    modules = room.folder / "modules.txt"
    daemon = room.start(
        "tests.system.listing", modules, "watch", "--bench", room.bench, "--job", room.job,
        environment={"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    room.job_folder(daemon)
    cable.say(hello())

    def has_stored() -> bool:
        cable.say()
        now = room.look()
        return now is not None and now.stored_rows > 2

    until(has_stored)
    assert room.command("mark", "mixed", "--bench", room.bench).returncode == 0
    assert daemon.stop() == 0, daemon.err
    cable.close()
    loaded = {name.partition(".")[0] for name in modules.read_text("utf-8").split()}
    assert {"numpy", "serial", "sqlite3", "msgspec"} <= loaded
    assert loaded & (TOO_HEAVY | NOT_ITS_OWN | ONLY_WHERE_ASKED_FOR) == set()


def test_every_way_in_and_out_imports_without_its_package() -> None:
    ran = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys\n"
            f"for name in {sorted(ONLY_WHERE_ASKED_FOR)}: sys.modules[name] = None\n"
            "import firmware_host.app, firmware_host.outputs.signals, firmware_host.inputs.ports\n"
            "import firmware_host.commands.check, firmware_host.commands.calibrate\n"
            "import hardware.board.main\n",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60.0,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr


def test_a_daemon_listens_before_it_has_loaded_what_judges() -> None:
    ran = subprocess.run(
        [
            sys.executable,
            "-c",
            f"import sys, firmware_host.commands.watch\nprint({LATER!r} & set(sys.modules))\n",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60.0,
        check=False,
    )
    assert (ran.stdout, ran.stderr) == ("set()\n", "")
