"""Buzzer, lamps, tone and button on gpiozero's mock pins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import gpiozero
import pytest
from gpiozero.pins.mock import MockFactory, MockPWMPin

from firmware_host.config.signal_tables import SignalTable
from firmware_host.errors import InputError
from firmware_host.model.commands import AcknowledgeCommand, MarkCommand
from firmware_host.model.events import AlarmState
from firmware_host.model.snapshot import SCHEMA, Snapshot, View
from firmware_host.outputs.signals import Devices, Signals
from firmware_host.outputs.status_socket import Asked
from tests.outputs.test_signal_rhythms import alarm, drawn, view
from tests.views import VIEW
from tests.waiting import until

TABLE = SignalTable(
    buzzer_pin=17,
    lamp_high_pin=22,
    lamp_medium_pin=23,
    lamp_low_pin=24,
    tone_pin=18,
    button_pin=27,
)


def snapshot(shown: View) -> Snapshot:
    return Snapshot(
        schema=SCHEMA,
        version="0",
        bench="bench",
        part="drone fairing",
        folder="",
        wall="",
        zero_wall="",
        clock_rate=1.0,
        stored_rows=0,
        stored_age_s=None,
        links=(),
        view=shown,
    )


class Bench:
    """Signals at work on mock pins."""

    def __init__(self, table: SignalTable = TABLE) -> None:
        self.factory = MockFactory(pin_class=MockPWMPin)
        self.asked: list[Asked] = []
        self.deaths: list[tuple[str, str]] = []
        self.devices = Devices(table, pin_factory=self.factory)
        self.signals = Signals(self.devices, self._take, lambda *why: self.deaths.append(why))
        self.signals.start()

    def pin(self, number: int) -> Any:  # noqa: ANN401 - of a package without types
        return self.factory.pin(number)

    def show(self, shown: View) -> None:
        self.signals.show(snapshot(shown))

    def press(self) -> None:
        self.pin(27).drive_low()
        self.pin(27).drive_high()

    def _take(self, asked: Asked) -> bool:
        self.asked.append(asked)
        return True


@pytest.fixture
def bench() -> Iterator[Bench]:
    made = Bench()
    yield made
    made.signals.close()
    assert made.deaths == []


def test_an_alarm_sounds_and_its_lamp_flashes_until_it_is_seen(bench: Bench) -> None:
    bench.show(view(alarm("high", AlarmState.ACTIVE)))
    until(lambda: bench.pin(17).state and bench.pin(22).state)
    assert not bench.pin(23).state and not bench.pin(24).state
    bench.show(view(alarm("high", AlarmState.ACKNOWLEDGED)))
    until(lambda: not bench.pin(17).state and not bench.devices.buzzer.is_active)
    until(lambda: bench.pin(22).state)
    bench.show(view())
    until(lambda: not bench.pin(22).state)


def test_a_rhythm_is_not_begun_anew_by_every_view(bench: Bench) -> None:
    bench.show(view(alarm("high", AlarmState.ACTIVE)))
    until(lambda: bench.pin(17).state)
    before = bench.devices.buzzer._blink_thread
    for number in range(5):
        bench.show(replace(view(alarm("high", AlarmState.ACTIVE)), time_s=float(number)))
    until(lambda: not bench.signals._news.is_set())
    assert bench.devices.buzzer._blink_thread is before


def test_the_tone_follows_the_vacuum_and_stops_with_the_reading(bench: Bench) -> None:
    bench.show(drawn(50000.0))
    until(lambda: bench.devices.tone.is_active)
    assert bench.pin(18).frequency == pytest.approx(440.0, rel=0.01)
    bench.show(drawn(0.0))
    until(lambda: bench.pin(18).frequency == pytest.approx(880.0, rel=0.01))
    bench.show(drawn(None))
    until(lambda: not bench.devices.tone.is_active)


def test_the_button_silences_first_and_marks_in_quiet(bench: Bench) -> None:
    bench.press()
    assert bench.asked == []  # nothing is known of the job yet
    bench.show(view(alarm("high", AlarmState.ACTIVE)))
    until(lambda: bench.pin(17).state)
    bench.press()
    bench.show(VIEW)
    until(lambda: not bench.devices.buzzer.is_active)
    bench.press()
    assert [one.command for one in bench.asked] == [
        AcknowledgeCommand(id="vacuum_lost-1", by="button"),
        MarkCommand(name="mixed"),
    ]


def test_at_the_end_everything_is_off() -> None:
    bench = Bench()
    bench.show(view(alarm("high", AlarmState.ACTIVE)))
    until(lambda: bench.pin(17).state)
    bench.signals.close()
    assert bench.devices.buzzer.closed and bench.devices.lamps["high"].closed


def test_what_the_bench_does_not_have_is_left_out() -> None:
    bench = Bench(SignalTable(lamp_high_pin=5))
    bench.show(view(alarm("high", AlarmState.ACTIVE)))
    until(lambda: bench.pin(5).state)
    bench.signals.close()
    assert bench.deaths == []


def test_without_the_package_the_message_says_what_to_install() -> None:
    def load(name: str) -> object:
        raise ImportError(name)

    with pytest.raises(InputError, match=r"\[signals\] needs the package gpiozero. Install it"):
        Devices(TABLE, load)


def test_without_pins_nothing_falls_back_and_the_message_says_so() -> None:
    # A computer without a board: gpiozero would warn of each way it tries, and then give up.
    with pytest.raises(InputError, match=r"\[signals\] cannot use the pins"):
        Devices(TABLE)
    assert gpiozero.Device.pin_factory is None


def test_pins_that_were_opened_before_one_failed_are_given_back() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    with pytest.raises(InputError, match="cannot use the pins"):
        Devices(SignalTable(buzzer_pin=17, button_pin=17), pin_factory=factory)
    Devices(SignalTable(buzzer_pin=17), pin_factory=factory).close()
