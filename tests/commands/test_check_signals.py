"""Each signal is tried and asked for, on gpiozero's mock pins."""

from __future__ import annotations

from collections.abc import Callable

from gpiozero.pins.mock import MockFactory, MockPWMPin

from firmware_host.channels.bench_check import Finding
from firmware_host.commands.check_signals import try_signals
from firmware_host.config.signal_tables import SignalTable
from firmware_host.outputs.signals import Devices
from tests.outputs.test_signals import TABLE

BUTTON_PIN = 27


class Person:
    """Answers as told, and presses the button when asked to, or not."""

    def __init__(self, factory: MockFactory, answer: bool | None, *, presses: bool = True) -> None:  # noqa: FBT001 - a reply
        self._factory, self._answer, self._presses = factory, answer, presses
        self.heard: list[str] = []

    def __call__(self, question: str) -> bool | None:
        self.heard.append(question)
        if question.startswith("Press") and self._presses:
            self._factory.pin(BUTTON_PIN).drive_low()
            self._factory.pin(BUTTON_PIN).drive_high()
        return self._answer


def opened_on(factory: MockFactory) -> Callable[[SignalTable], Devices]:
    return lambda table: Devices(table, pin_factory=factory)


def lines(found: list[Finding]) -> list[str]:
    return [f"{one.level} {one.what}" for one in found]


def test_every_signal_that_works_is_ok() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    person = Person(factory, answer=True)
    found = try_signals(TABLE, person, opened_on(factory))
    assert lines(found) == [
        "ok buzzer",
        "ok tone",
        "ok lamp high",
        "ok lamp medium",
        "ok lamp low",
        "ok button",
    ]
    assert len(person.heard) == 6
    Devices(TABLE, pin_factory=factory).close()  # the pins were given back


def test_a_signal_that_nobody_notices_fails() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    found = try_signals(TABLE, Person(factory, answer=False, presses=False), opened_on(factory))
    assert {line.split()[0] for line in lines(found)} == {"fail"}
    assert found[0].text == (
        "did not work. Check its pin in [signals], its wires, transistor and supply."
    )


def test_without_a_person_every_signal_is_a_doubt() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    found = try_signals(TABLE, Person(factory, answer=None), opened_on(factory))
    assert {line.split()[0] for line in lines(found)} == {"doubt"}


def test_a_button_whose_press_does_not_arrive_fails() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    table = SignalTable(button_pin=BUTTON_PIN)
    (found,) = try_signals(table, Person(factory, answer=True, presses=False), opened_on(factory))
    assert (found.what, str(found.level)) == ("button", "fail")


def test_what_the_bench_does_not_have_is_not_asked_for() -> None:
    factory = MockFactory(pin_class=MockPWMPin)
    person = Person(factory, answer=True)
    assert lines(try_signals(SignalTable(lamp_low_pin=5), person, opened_on(factory))) == [
        "ok lamp low"
    ]
    assert person.heard == ["Is the lamp for low alarms lit?"]
