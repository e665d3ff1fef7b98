"""Who may own the socket's name."""

from __future__ import annotations

import fcntl
import os
import socket
import stat
import threading
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from firmware_host.errors import BusyError, InputError
from firmware_host.outputs.socket_file import LONGEST_PATH, SocketFile


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bench.sock"


def leave_stale(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(path))


def test_the_socket_is_for_owner_and_group_and_goes_with_the_daemon(path: Path) -> None:
    taken = SocketFile(path, ManualClock())
    assert stat.S_IMODE(path.stat().st_mode) == 0o660
    taken.close()
    assert not path.exists()


def test_the_name_of_a_dead_daemon_is_taken_over(path: Path) -> None:
    leave_stale(path)
    taken = SocketFile(path, ManualClock())
    with socket.socket(socket.AF_UNIX) as client:
        client.connect(str(path))
    taken.close()


def test_a_live_daemon_is_named_and_left_in_peace(path: Path) -> None:
    live = SocketFile(path, ManualClock())
    with pytest.raises(BusyError, match=rf"process {os.getpid()}\) already answers at .*\. Stop"):
        SocketFile(path, ManualClock())
    with socket.socket(socket.AF_UNIX) as client:
        client.connect(str(path))
    live.close()


def test_only_one_of_many_that_start_at_once_gets_the_name(path: Path) -> None:
    leave_stale(path)
    winners: list[SocketFile] = []
    losers: list[BusyError] = []

    def start() -> None:
        try:
            winners.append(SocketFile(path, ManualClock()))
        except BusyError as error:
            losers.append(error)

    threads = [threading.Thread(target=start, name=f"start{n}") for n in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(winners), len(losers)) == (1, 15)
    winners[0].close()


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (Path.mkdir, "a folder"),
        (Path.touch, "a file that is no socket"),
        (lambda path: path.symlink_to("elsewhere"), "a symbolic link"),
    ],
)
def test_what_is_no_socket_is_left_alone(path: Path, make: object, word: str) -> None:
    assert callable(make)
    make(path)
    with pytest.raises(InputError, match=rf"bench\.sock is {word}, which is left alone"):
        SocketFile(path, ManualClock())
    assert os.path.lexists(path)


def test_a_missing_folder_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"No such file or directory\)\. Make its folder"):
        SocketFile(tmp_path / "absent" / "s", ManualClock())


def test_a_path_at_the_systems_limit_works_and_one_byte_more_is_refused(tmp_path: Path) -> None:
    longest = tmp_path / ("s" * (LONGEST_PATH - len(str(tmp_path)) - 1))
    SocketFile(longest, ManualClock()).close()
    with pytest.raises(InputError, match="108 bytes long, the system allows 107"):
        SocketFile(longest.with_name(longest.name + "s"), ManualClock())


def test_a_folder_that_stays_locked_is_busy(path: Path) -> None:
    handle = os.open(path.parent, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    clock = ManualClock()
    with pytest.raises(BusyError, match="locked by another program for 2 s"):
        SocketFile(path, clock)
    os.close(handle)
    assert clock.monotonic_s() == pytest.approx(2.0)


def test_a_name_that_another_took_meanwhile_stays(path: Path) -> None:
    taken = SocketFile(path, ManualClock())
    path.unlink()
    leave_stale(path)
    taken.close()
    assert path.exists()
