"""What a bench needs to speak to its broker: checked at the start, refused with what to do.

A password that others can read is no password. A certificate that cannot be read ends the start:
nothing falls back to speaking in the clear.
"""

from __future__ import annotations

import ipaddress
import ssl
import stat
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from firmware_host.config.schema import Bench, Mqtt
from firmware_host.errors import InputError
from firmware_host.model.wire import Topics

MACHINE_ID = Path("/etc/machine-id")
_OTHERS = stat.S_IRWXG | stat.S_IRWXO
_CLIENT_LETTERS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Login:
    """Where the broker is and how this bench proves itself."""

    host: str
    port: int
    user: str | None
    password: str | None
    tls: ssl.SSLContext | None
    client_id: str
    """The same at every start, and another on another board that was given the same bench file."""
    topics: Topics
    accepts_acks: bool

    @property
    def where(self) -> str:
        """The broker in a message."""
        return f"{self.host}:{self.port}"

    @property
    def is_bare(self) -> bool:
        """Whether a password goes over a network in the clear."""
        return self.tls is None and self.password is not None and not _is_this_machine(self.host)


def login_of(bench: Bench, mqtt: Mqtt, beside: Callable[[str], Path]) -> Login:
    """Read what [mqtt] names; `beside` finds a path that counts from the bench file's folder.

    Raises InputError for a password file or a certificate that cannot be used.
    """
    password = _password(beside(mqtt.password_file)) if mqtt.password_file else None
    name = bench.bench.name
    return Login(
        host=mqtt.host,
        port=mqtt.port,
        user=mqtt.user or None,
        password=password,
        tls=_tls(beside(mqtt.ca_file)) if mqtt.ca_file else None,
        client_id=f"bagvigil-{name}-{_machine(name)}",
        topics=Topics(bench=name),
        accepts_acks=mqtt.accept_acknowledgements,
    )


def _password(path: Path) -> str:
    try:
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & _OTHERS:
            raise InputError(
                [
                    f"{path} has mode {mode:04o}, so that others may use the broker's password in "
                    f"it (limit 0600). Run `chmod 600 {path}`."
                ]
            )
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _unusable(path, "password_file", error) from error
    password = text.removesuffix("\n").removesuffix("\r")
    if not password or "\n" in password:
        raise InputError([f"{path} must hold the broker's password alone, on one line."])
    return password


def _tls(path: Path) -> ssl.SSLContext:
    try:
        context = ssl.create_default_context(cafile=str(path))
    except (OSError, ssl.SSLError) as error:
        raise _unusable(path, "ca_file", error) from error
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    return context


def _unusable(path: Path, key: str, error: Exception) -> InputError:
    why = (error.strerror if isinstance(error, OSError) else None) or str(error)
    return InputError(
        [f"{path} cannot be used: {why}. Mend it, or [mqtt] {key} in the bench file."]
    )


def _machine(bench: str) -> str:
    """Give a short mark of this board; the machine's own id is not for strangers."""
    try:
        machine = MACHINE_ID.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        machine = ""
    return sha256(f"{machine}\n{bench}".encode()).hexdigest()[:_CLIENT_LETTERS]


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
