"""Why a broker cannot be reached or says no, in words that name the next step."""

from __future__ import annotations

import socket
import ssl

from paho.mqtt.reasoncodes import ReasonCode

from firmware_host.outputs.mqtt_login import Login
from firmware_host.outputs.mqtt_path import Ending

_PASSING = frozenset({0x88, 0x89, 0x8B, 0x97, 0x9F})
"""Unavailable, busy, shutting down, quota, rate of connections (MQTT 5.0, section 2.4)."""
_CREDENTIALS = frozenset({0x86, 0x87})
"""Bad user name or password; not authorized."""
_TAKEN_OVER = 0x8E

_NOT_YET_VALID, _EXPIRED = 9, 10
_UNKNOWN_ISSUER = frozenset({18, 19, 20, 21})
_WRONG_NAME = frozenset({62, 64})
"""X509_V_ERR numbers of OpenSSL, x509_vfy.h."""


def ending_of_reason(reason: ReasonCode, login: Login) -> Ending:
    """Word what the broker itself said."""
    if reason.value in _CREDENTIALS:
        user = f"user {login.user!r}" if login.user else "a bench without a user"
        why = (
            f"it refuses {user} ({reason}); check [mqtt] user and password_file, then start "
            "bagvigil again"
        )
        return Ending(why=why, is_refusal=True)
    if reason.value == _TAKEN_OVER:
        why = "another board or program speaks under this bench's name; stop it or rename the bench"
        return Ending(why=why, is_refusal=True)
    return Ending(why=f"it says {reason}", is_refusal=reason.value not in _PASSING)


def ending_of_error(error: Exception) -> Ending:
    """Word why it was not reached at all."""
    if isinstance(error, ssl.SSLCertVerificationError):
        return Ending(why=_certificate(error), is_refusal=True)
    if isinstance(error, ssl.SSLError):
        why = f"it does not speak TLS as we must ({error.reason or error}); check [mqtt] port"
        return Ending(why=why, is_refusal=True)
    if isinstance(error, socket.gaierror):
        return Ending(why=f"its name is not known ({error.strerror})", is_refusal=False)
    if isinstance(error, TimeoutError):
        return Ending(why="it does not answer", is_refusal=False)
    if isinstance(error, ConnectionRefusedError):
        return Ending(why="nothing listens there; start the broker", is_refusal=False)
    strerror = error.strerror if isinstance(error, OSError) else None
    return Ending(why=strerror or str(error), is_refusal=False)


def _certificate(error: ssl.SSLCertVerificationError) -> str:
    number, said = error.verify_code, error.verify_message
    if number == _NOT_YET_VALID:
        return f"its certificate is not valid yet ({said}); is this board's clock right?"
    if number == _EXPIRED:
        return f"its certificate has expired ({said}); renew it, unless this board's clock is wrong"
    if number in _UNKNOWN_ISSUER:
        return f"its certificate is not vouched for by [mqtt] ca_file ({said})"
    if number in _WRONG_NAME:
        return f"its certificate is for another host ({said}); check [mqtt] host"
    return f"its certificate is not accepted ({said})"
