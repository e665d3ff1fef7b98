"""Why a broker cannot be reached or says no, in words with a next step."""

from __future__ import annotations

import socket
import ssl
from pathlib import Path

import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.reasoncodes import ReasonCode

from firmware_host.config.schema import Bench, BenchTable, Mqtt
from firmware_host.outputs.mqtt_login import Login, login_of
from firmware_host.outputs.mqtt_path import Ending
from firmware_host.outputs.mqtt_reasons import ending_of_error, ending_of_reason


@pytest.fixture
def login() -> Login:
    mqtt = Mqtt(host="broker.example", user="bench")
    return login_of(Bench(bench=BenchTable(name="north-bench")), mqtt, Path)


def certificate_error(number: int) -> ssl.SSLCertVerificationError:
    error = ssl.SSLCertVerificationError("certificate verify failed")
    error.verify_code, error.verify_message = number, "as OpenSSL words it"
    return error


# X509_V_ERR numbers of OpenSSL 3, include/openssl/x509_vfy.h.
@pytest.mark.parametrize(
    ("number", "words"),
    [
        (9, "is not valid yet (as OpenSSL words it); is this board's clock right?"),
        (10, "has expired (as OpenSSL words it); renew it, unless this board's clock is wrong"),
        (18, "is not vouched for by [mqtt] ca_file (as OpenSSL words it)"),
        (19, "is not vouched for by [mqtt] ca_file (as OpenSSL words it)"),
        (20, "is not vouched for by [mqtt] ca_file (as OpenSSL words it)"),
        (62, "is for another host (as OpenSSL words it); check [mqtt] host"),
        (64, "is for another host (as OpenSSL words it); check [mqtt] host"),
        (23, "is not accepted (as OpenSSL words it)"),
    ],
)
def test_a_certificate_is_refused_with_the_reason(number: int, words: str) -> None:
    ending = ending_of_error(certificate_error(number))
    assert ending == Ending(why=f"its certificate {words}", is_refusal=True)


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (socket.gaierror(-2, "Name or service not known"), "its name is not known"),
        (TimeoutError("timed out"), "it does not answer"),
        (ConnectionRefusedError(111, "Connection refused"), "nothing listens there"),
        (OSError(101, "Network is unreachable"), "Network is unreachable"),
        (ValueError("Invalid host."), "Invalid host."),
    ],
)
def test_a_broker_that_is_not_there_is_tried_again_soon(error: Exception, words: str) -> None:
    ending = ending_of_error(error)
    assert words in ending.why
    assert not ending.is_refusal


# Reason codes: MQTT 5.0 (OASIS Standard), section 2.4.
@pytest.mark.parametrize(
    ("packet", "number", "words", "is_refusal"),
    [
        (PacketTypes.CONNACK, 0x86, "check [mqtt] user and password_file", True),
        (PacketTypes.CONNACK, 0x87, "it refuses user 'bench' (Not authorized)", True),
        (PacketTypes.CONNACK, 0x84, "it says Unsupported protocol version", True),
        (PacketTypes.CONNACK, 0x88, "it says Server unavailable", False),
        (PacketTypes.DISCONNECT, 0x8B, "it says Server shutting down", False),
        (PacketTypes.DISCONNECT, 0x8E, "stop it or rename the bench", True),
    ],
)
def test_what_the_broker_says_is_passed_on(
    login: Login, packet: int, number: int, words: str, *, is_refusal: bool
) -> None:
    ending = ending_of_reason(ReasonCode(packet, identifier=number), login)
    assert words in ending.why
    assert ending.is_refusal is is_refusal
