"""`bagvigil check` over emulated chips, over ports that are absent or held, and a real broker."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from firmware_host.clock import ScaledClock
from firmware_host.commands.check import check
from firmware_host.inputs.transport import SerialTransport
from hardware.board.chips import I2cBus
from simulations.drawer import Drawer
from simulations.rig import Rig
from simulations.scenario import load
from tests.commands.spoken import Say
from tests.hardware.board.fakes import Unplugged
from tests.inputs.cable import Cable
from tests.outputs.broker import Broker, Listener
from tests.outputs.mqtt_parts import lay_out_password
from tests.system.drawers import I2C_BENCH, I2cDrawer
from tests.system.room import JOB, TWO_CHANNELS
from tests.system.scenarios import HEAD
from tests.system.test_mqtt_daemon import MQTT
from tests.waiting import until

RATE = 30.0
SPAN_S = 45.0
"""Of a bench that runs 30 times as fast: one and a half real seconds."""


class Torn(I2cDrawer):
    """The converter with the couples has come off."""

    def i2c(self, device: str, address: int) -> I2cBus:
        return Unplugged() if address == 0x49 else super().i2c(device, address)


def idle(folder: Path, clock: ScaledClock) -> Drawer:
    """A bench on which nothing happens."""
    (folder / "jobs").mkdir()
    (folder / "jobs" / "job.toml").write_text(JOB, encoding="utf-8")
    scenario = folder / "scenario.toml"
    scenario.write_text(HEAD.format(name="idle", seed=3, length_s=3600.0), encoding="utf-8")
    return Drawer(Rig(load(str(scenario))), clock, 0.2, lambda _: None)


def test_a_sound_bench_has_a_line_for_everything_and_keeps_what_it_measured(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clock = ScaledClock(RATE)
    chips = I2cDrawer(idle(tmp_path, clock))
    bench = tmp_path / "bench.toml"
    bench.write_text(I2C_BENCH.format(period_s=1.0), encoding="utf-8")
    assert check(bench, SPAN_S, clock, buses=lambda: chips) == 0
    found = {line.split(":")[0]: line for line in capsys.readouterr().out.splitlines()}
    assert list(found) == [
        "ok     port parts",
        "ok     bag",
        "ok     pump",
        "ok     part1",
        "ok     part2",
        "ok     barometer",
        "ok     shop",
        "ok     bag at room",
        "ok     pump at room",
        "ok     thermometers",
        "doubt  signals",
        "doubt  broker",
    ]
    kept = json.loads((tmp_path / "bench.check.json").read_text(encoding="utf-8"))
    assert (kept["schema"], kept["bench"]) == (1, "drawer-bench")
    assert [one["name"] for one in kept["channels"]] == [
        "bag", "pump", "part1", "part2", "barometer", "shop",
    ]  # fmt: skip
    assert 5.0 < kept["channels"][1]["noise"] < 100.0  # 26 Pa, and the converter's 4.7


def test_a_part_that_came_off_fails_with_the_next_step(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clock = ScaledClock(RATE)
    chips = Torn(idle(tmp_path, clock))
    bench = tmp_path / "bench.toml"
    bench.write_text(I2C_BENCH.format(period_s=1.0), encoding="utf-8")
    assert check(bench, SPAN_S, clock, as_json=True, buses=lambda: chips) == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    assert [one for one in findings if one["level"] == "fail"] == [
        {
            "level": "fail",
            "what": name,
            "text": "no value: driver error. Nobody answers there: check wiring, address and "
            "supply of the part.",
        }
        for name in ("part1", "part2")
    ]


def test_a_board_that_is_not_there_fails(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text(TWO_CHANNELS.format(device=here / "absent"), encoding="utf-8")
    spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
    assert spoken.code == 1
    assert "fail   port board: " in spoken.out
    assert "absent is not there. Plug the board in" in spoken.out


def test_a_port_that_is_held_is_a_matter_of_waiting(here: Path, say: Say) -> None:
    cable = Cable(here / "board")
    cable.plug()
    held = SerialTransport(str(here / "board"), 115200)
    (here / "bench.toml").write_text(TWO_CHANNELS.format(device=here / "board"), encoding="utf-8")
    try:
        spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
    finally:
        held.close()
        cable.close()
    assert spoken.code == 3
    assert "is held by" in spoken.out


def test_a_bench_without_channels_is_a_doubt(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text("", encoding="utf-8")
    spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
    assert spoken.code == 0
    assert spoken.out.startswith("doubt  ports: no channel hangs on any port")


@pytest.mark.parametrize("seconds", ["0.9", "601", "nan"])
def test_a_span_that_tells_nothing_is_refused(here: Path, say: Say, seconds: str) -> None:
    assert here.is_dir()
    spoken = say("check", "--bench", "bench.toml", "--seconds", seconds)
    assert spoken.code == 2
    assert "must be at least 1 and at most 600" in spoken.err


def test_the_broker_takes_a_test_notice(here: Path, say: Say) -> None:
    with Broker(here / "broker") as broker, Listener(broker.port) as listener:
        lay_out_password(here)
        (here / "bench.toml").write_text(
            '[bench]\nname = "north-bench"\n' + MQTT.format(port=broker.port), encoding="utf-8"
        )
        spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
        assert "ok     broker: " in spoken.out
        until(lambda: any(one.topic.endswith("/notice") for one in listener.heard))
    assert spoken.code == 0


def test_a_broker_that_is_not_there_fails(here: Path, say: Say) -> None:
    lay_out_password(here)
    (here / "bench.toml").write_text(
        '[bench]\nname = "north-bench"\n' + MQTT.format(port=1), encoding="utf-8"
    )
    spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
    assert spoken.code == 1
    assert "fail   broker: 127.0.0.1:1 did not take the test notice: " in spoken.out


SIGNALS = "[signals]\nbuzzer_pin = 17\n"


def test_signals_without_pins_fail_in_the_check(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text(SIGNALS, encoding="utf-8")
    spoken = say("check", "--bench", "bench.toml", "--seconds", 1)
    assert spoken.code == 1
    assert "fail   signals: [signals] cannot use the pins" in spoken.out


def test_signals_without_pins_keep_a_watch_from_beginning(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text(SIGNALS, encoding="utf-8")
    (here / "job.toml").write_text(JOB, encoding="utf-8")
    spoken = say("watch", "--bench", "bench.toml", "--job", "job.toml")
    assert spoken.code == 2
    assert "[signals] cannot use the pins" in spoken.err
    assert not (here / "jobs").exists()


def test_a_bus_that_is_not_there_keeps_a_watch_from_beginning(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text(I2C_BENCH.format(period_s=1.0), encoding="utf-8")
    (here / "job.toml").write_text(JOB, encoding="utf-8")
    spoken = say("watch", "--bench", "bench.toml", "--job", "job.toml")
    assert spoken.code == 2
    assert "/dev/i2c-1" in spoken.err
    assert not (here / "jobs").exists()
