"""A real broker on loopback, with accounts, rights and a certificate of its own, and a listener."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

import msgspec
import pytest
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from tests.waiting import until

BENCH = "north-bench"
PASSWORD = "lofting batten 7"  # noqa: S105 - of a broker that lives as long as a test
RIGHTS = f"""
user bench
topic write bagvigil/{BENCH}/#
topic read bagvigil/{BENCH}/ack
user phone
topic read bagvigil/#
topic write bagvigil/{BENCH}/ack
"""
_CONFIG = """
per_listener_settings false
allow_anonymous false
password_file {place}/passwords
acl_file {place}/rights
persistence true
persistence_location {place}/
autosave_interval 1
user {user}
listener {port} 127.0.0.1
"""
_TLS = """
listener {port} 127.0.0.1
cafile {place}/ca.pem
certfile {place}/server.pem
keyfile {place}/server.key
"""


def program(name: str) -> str:
    """Find a program; where it is missing the test stands aside and says so, but never in CI."""
    found = shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
    if found is None:
        why = f"{name} is not installed (packages mosquitto and openssl); this proves nothing here"
        assert "CI" not in os.environ, why
        pytest.skip(why)  # a fresh machine has no broker, and the README promises it a green run
    return found


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return int(held.getsockname()[1])


class Broker:
    """Made with its files, not started; everything in one folder."""

    def __init__(self, place: Path, *, tls: bool = False) -> None:
        place.mkdir()
        self.place = place
        self.port, self.tls_port = free_port(), free_port()
        self._process: subprocess.Popen[bytes] | None = None
        config = _CONFIG.format(place=place, user=pwd.getpwuid(os.getuid()).pw_name, port=self.port)
        if tls:
            make_certificates(place)
            config += _TLS.format(place=place, port=self.tls_port)
        (place / "broker.conf").write_text(config)
        self.let(RIGHTS)
        self.give_password("bench", PASSWORD)
        self.give_password("phone", PASSWORD)

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is not None:
            self.thaw()
            self.kill()

    def give_password(self, user: str, password: str) -> None:
        passwords = self.place / "passwords"
        create = [] if passwords.exists() else ["-c"]
        command = [program("mosquitto_passwd"), *create, "-b", str(passwords), user, password]
        subprocess.run(command, check=True, capture_output=True)
        passwords.chmod(0o600)

    def let(self, rights: str) -> None:
        """Write who may do what; a running broker hears of it by `reload`."""
        path = self.place / "rights"
        path.write_text(rights)
        path.chmod(0o600)

    def start(self) -> None:
        with (self.place / "broker.log").open("ab") as log:
            command = [program("mosquitto"), "-c", str(self.place / "broker.conf")]
            self._process = subprocess.Popen(command, stdout=log, stderr=log)
        until(self._listens)

    def reload(self) -> None:
        self._send(signal.SIGHUP)

    def freeze(self) -> None:
        self._send(signal.SIGSTOP)

    def thaw(self) -> None:
        self._send(signal.SIGCONT)

    def kill(self) -> None:
        self._send(signal.SIGKILL)
        assert self._process is not None
        self._process.wait(10.0)
        self._process = None

    def _send(self, number: signal.Signals) -> None:
        assert self._process is not None
        self._process.send_signal(number)

    def _listens(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), 1.0).close()
        except OSError:
            return False
        return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """One message as it came."""

    topic: str
    payload: bytes
    is_retained: bool

    @property
    def said(self) -> dict[str, Any]:
        held: dict[str, Any] = msgspec.json.decode(self.payload)
        return held


class Listener:
    """Somebody outside: hears everything of every bench from the moment it is made."""

    def __init__(self, port: int, name: str = "listener", user: str = "phone") -> None:
        self.heard: list[Heard] = []
        self.refusals: list[str] = []
        self._ready = 0
        self._client = Client(
            CallbackAPIVersion.VERSION2, client_id=name, protocol=MQTTProtocolVersion.MQTTv5
        )
        self._client.reconnect_delay_set(1, 1)
        self._client.username_pw_set(user, PASSWORD)
        self._client.on_connect = self._subscribe
        self._client.on_subscribe = self._count
        self._client.on_message = self._note
        kept = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]  # as in the library
        kept.SessionExpiryInterval = 3600
        self._client.connect("127.0.0.1", port, 10, clean_start=False, properties=kept)
        self._client.loop_start()
        until(lambda: self._ready)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._client.disconnect()
        self._client.loop_stop()

    def returned(self, times: int = 2) -> bool:
        """Whether it has subscribed as many times."""
        return self._ready >= times

    def say(self, topic: str, payload: bytes, *, retain: bool = False) -> None:
        self._client.publish(topic, payload, qos=1, retain=retain)

    def topics(self, tail: str) -> list[Heard]:
        """Messages whose topic, after the bench, begins like this."""
        return [one for one in tuple(self.heard) if one.topic.split("/", 2)[2].startswith(tail)]

    def states_of(self, alarm: str) -> list[str]:
        """Transitions of one alarm, each once."""
        told = {one.said["id"]: one.said["state"] for one in self.topics(f"alarm/{alarm}")}
        return list(told.values())

    def _subscribe(self, client: Client, *_: object) -> None:
        client.subscribe("bagvigil/#", qos=1)

    def _count(self, *_: object) -> None:
        self._ready += 1

    def _note(self, client: Client, held: object, message: MQTTMessage) -> None:
        del client, held
        self.heard.append(
            Heard(topic=message.topic, payload=bytes(message.payload), is_retained=message.retain)
        )


def make_certificates(place: Path) -> None:
    """Make an authority, a server it vouches for, and an authority that vouches for nobody."""
    for name in ("ca", "other-ca"):
        _openssl(
            place,
            *("req", "-x509", "-newkey", "ed25519", "-nodes", "-days", "2"),
            *("-subj", f"/CN={name}", "-keyout", f"{name}.key", "-out", f"{name}.pem"),
            *("-addext", "keyUsage=critical,keyCertSign,cRLSign"),
        )
    sign_server(place, "subjectAltName=DNS:localhost,IP:127.0.0.1")


def sign_server(place: Path, names: str) -> None:
    """Make the server's certificate."""
    (place / "names").write_text(f"{names}\n")
    _openssl(
        place,
        *("req", "-newkey", "ed25519", "-nodes", "-subj", "/CN=broker"),
        *("-keyout", "server.key", "-out", "server.csr"),
    )
    _openssl(
        place,
        *("x509", "-req", "-in", "server.csr", "-CA", "ca.pem", "-CAkey", "ca.key"),
        *("-CAcreateserial", "-days", "2", "-extfile", "names", "-out", "server.pem"),
    )


def _openssl(place: Path, *arguments: str) -> None:
    subprocess.run([program("openssl"), *arguments], cwd=place, check=True, capture_output=True)


Waiter = Callable[[], object]
