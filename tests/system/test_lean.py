"""What the daemon loads: a small board has no room for what only the panel or a report needs."""

from __future__ import annotations

from pathlib import Path

from tests.inputs.boards import hello
from tests.inputs.cable import Cable
from tests.system.room import Room
from tests.waiting import until

ROOT = Path(__file__).parents[2]
TOO_HEAVY = {"scipy", "matplotlib", "textual", "pandas", "numba", "PIL", "hypothesis", "pytest"}
NOT_ITS_OWN = {"dashboard", "simulations"}


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
    assert loaded & (TOO_HEAVY | NOT_ITS_OWN) == set()
