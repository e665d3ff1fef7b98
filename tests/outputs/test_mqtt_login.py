"""What a bench needs to speak to its broker is checked before anything begins."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from firmware_host.config.load import parse_bench
from firmware_host.config.schema import Bench, BenchTable, Mqtt
from firmware_host.errors import InputError
from firmware_host.outputs.mqtt_login import Login, login_of
from tests.outputs.broker import make_certificates


def bench(**given: Any) -> Bench:  # noqa: ANN401 - keys of [mqtt]
    keys = {"host": "broker.example", "user": "bench", "password_file": "mqtt.secret"} | given
    return Bench(bench=BenchTable(name="north-bench"), mqtt=Mqtt(**keys))


def log_in(place: Path, **given: Any) -> Login:  # noqa: ANN401 - keys of [mqtt]
    made = bench(**given)
    assert made.mqtt is not None
    return login_of(made, made.mqtt, lambda path: place / path)


def secret(place: Path, text: str = "batten 7\n", mode: int = 0o600) -> Path:
    path = place / "mqtt.secret"
    path.write_text(text)
    path.chmod(mode)
    return path


def test_the_password_is_the_files_one_line(tmp_path: Path) -> None:
    secret(tmp_path)
    login = log_in(tmp_path)
    assert (login.user, login.password, login.where) == ("bench", "batten 7", "broker.example:1883")
    assert (login.tls, login.accepts_acks, login.is_bare) == (None, False, True)


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o644])
def test_a_password_that_others_can_read_is_refused(tmp_path: Path, mode: int) -> None:
    path = secret(tmp_path, mode=mode)
    with pytest.raises(InputError, match=rf"mode {mode:04o}.*chmod 600 {path}") as refused:
        log_in(tmp_path)
    assert "batten" not in str(refused.value)


@pytest.mark.parametrize("text", ["", "\n", "one\ntwo\n"])
def test_a_file_that_holds_no_password_alone_is_refused(tmp_path: Path, text: str) -> None:
    secret(tmp_path, text)
    with pytest.raises(InputError, match="must hold the broker's password alone"):
        log_in(tmp_path)


@pytest.mark.parametrize("key", ["password_file", "ca_file"])
def test_a_file_that_is_not_there_is_named_with_its_key(tmp_path: Path, key: str) -> None:
    secret(tmp_path)
    with pytest.raises(InputError, match=rf"nowhere.*No such file.*\[mqtt\] {key}"):
        log_in(tmp_path, **{key: "nowhere"})


def test_a_certificate_that_makes_no_sense_is_refused_and_nothing_goes_in_the_clear(
    tmp_path: Path,
) -> None:
    secret(tmp_path)
    (tmp_path / "ca.pem").write_text("no certificate")
    with pytest.raises(InputError, match=r"ca\.pem cannot be used.*\[mqtt\] ca_file"):
        log_in(tmp_path, ca_file="ca.pem")


def test_an_authority_of_ones_own_is_taken(tmp_path: Path) -> None:
    secret(tmp_path)
    make_certificates(tmp_path)
    login = log_in(tmp_path, ca_file="ca.pem")
    assert login.tls is not None
    assert len(login.tls.get_ca_certs()) == 1
    assert not login.is_bare


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost"])
def test_a_broker_on_the_same_board_needs_no_encryption(tmp_path: Path, host: str) -> None:
    secret(tmp_path)
    assert not log_in(tmp_path, host=host).is_bare


def test_the_client_id_is_stable_and_tells_nothing_of_the_machine(tmp_path: Path) -> None:
    login = log_in(tmp_path, password_file="", user="")
    assert login.client_id == log_in(tmp_path, password_file="").client_id
    assert login.client_id.startswith("bagvigil-north-bench-")
    machine = Path("/etc/machine-id")
    if machine.exists():
        assert machine.read_text().strip()[:12] not in login.client_id
    assert (login.user, login.password) == (None, None)


def test_the_readmes_broker_is_one_that_can_be_named() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    found = re.search(r"```toml\n(\[mqtt\].*?)```", readme, re.DOTALL)
    assert found is not None
    made = parse_bench(f'[bench]\nname = "north-bench"\n{found[1]}', "bench.toml")
    assert made.mqtt == Mqtt(
        host="broker.lan",
        port=8883,
        user="bench",
        password_file="mqtt.secret",
        ca_file="ca.pem",
    )
