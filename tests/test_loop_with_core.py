"""The whole daemon but its command line, with the real core, over a pty."""

from __future__ import annotations

from pathlib import Path

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.socket_client import ask_snapshot, send_mark
from firmware_host.model.commands import MarkCommand
from firmware_host.model.events import MarkTaken, PhaseEntered
from firmware_host.outputs.record_reader import open_record
from tests.inputs.boards import hello, port_channels
from tests.inputs.cable import Cable
from tests.test_loop_end_to_end import JOB_TEXT, Daemon, new_folder, zero_mono_s
from tests.waiting import until


def test_the_real_core_judges_a_live_job_as_a_replay_of_its_record_does(
    tmp_path: Path,
) -> None:
    cable, folder = Cable(tmp_path / "board"), new_folder(tmp_path)
    cable.plug()
    job = parse_job(JOB_TEXT.decode() + '[resin]\nfamily = "polyester"\n', "job.toml")
    groups = (port_channels().group,)
    daemon = Daemon(cable, folder, zero_mono_s(folder), Monitor(job, groups))
    daemon.start()
    cable.say(hello())
    until(lambda: told_rows(daemon, cable) > 3)
    answer = send_mark(daemon.path, MarkCommand(name="mixed", ago_s=1.0))
    until(lambda: ask_snapshot(daemon.path).view.mixed_s is not None)
    until(lambda: told_rows(daemon, cable) > 6)
    daemon.end()
    cable.close()
    assert answer.ok, answer.text
    with open_record(folder) as record:
        said = list(record.events())
        again = Monitor(job, groups)
        assert [event for given in record.inputs() for event in again.step(given)] == said
    assert any(isinstance(event, PhaseEntered) for event in said)
    assert any(isinstance(event, MarkTaken) for event in said)


def told_rows(daemon: Daemon, cable: Cable) -> int:
    """Let the board speak, and say how many frames are certainly on the disk."""
    cable.say()
    return ask_snapshot(daemon.path).stored_rows
