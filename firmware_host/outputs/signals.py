"""Buzzer, lamps, tone and button at the bench, through gpiozero.

A thread of its own, since a pin may block; the core hands it its newest view and waits for
nothing. The library is an extra, loaded when the bench file has [signals]; without it, or without
pins, the daemon does not start and says why: an alarm that nobody hears is no alarm.
"""

from __future__ import annotations

import threading
import warnings
from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from firmware_host.config.signal_tables import SignalTable
from firmware_host.errors import InputError
from firmware_host.model.snapshot import Snapshot, View
from firmware_host.outputs.signal_rhythms import (
    PRIORITIES,
    Rhythm,
    lamp_of,
    pressed,
    sound_of,
    tone_hz,
)
from firmware_host.outputs.status_socket import Asked

NOBODY = -2
"""Token of a command whose sender waits for no answer; the socket gives out none below 0."""
LOOK_S = 0.5
BOUNCE_S = 0.05
LEAST_STEP = 1.01
"""Ratio of two pitches that an ear tells apart; smaller ones are not played anew."""


class Devices:
    """The opened devices, each None where the bench file names no pin for it."""

    def __init__(
        self,
        table: SignalTable,
        load: Callable[[str], Any] = import_module,
        pin_factory: object = None,
    ) -> None:
        """Open the pins. Raises InputError naming the package or pin that is not there."""
        self._open: list[Any] = []
        library = _library(load)
        try:
            with warnings.catch_warnings():
                # Nothing falls back quietly to another way to the pins.
                warnings.simplefilter("error")
                self._build(table, library, pin_factory)
        except (library.GPIOZeroError, Warning, OSError) as error:
            self.close()
            text = (
                f"[signals] cannot use the pins ({error}). Install their package with pip install "
                "'bagvigil[gpio]', correct the pins, or take [signals] out."
            )
            raise InputError([text]) from error

    def close(self) -> None:
        """Switch everything off and give the pins back."""
        while self._open:
            self._open.pop().close()

    def _build(self, table: SignalTable, library: Any, pins: object) -> None:  # noqa: ANN401
        def opened(kind: Any, pin: int | None, **more: object) -> Any:  # noqa: ANN401
            if pin is None:
                return None
            device = kind(pin, pin_factory=pins, **more)
            self._open.append(device)
            return device

        self.buzzer = opened(library.Buzzer, table.buzzer_pin)
        lamp_pins = (table.lamp_high_pin, table.lamp_medium_pin, table.lamp_low_pin)
        self.lamps = {
            priority: opened(library.LED, pin)
            for priority, pin in zip(PRIORITIES, lamp_pins, strict=True)
        }
        self.tone = opened(library.TonalBuzzer, table.tone_pin, octaves=1)
        self.button = opened(library.Button, table.button_pin, bounce_time=BOUNCE_S)

    def sound(self, rhythm: Rhythm | None) -> None:
        """Let the buzzer sound in a rhythm, or be still."""
        _beat(self.buzzer, rhythm)

    def light(self, priority: str, rhythm: Rhythm | None) -> None:
        """Let a lamp flash in a rhythm, stand, or be dark."""
        _beat(self.lamps[priority], rhythm)

    def play(self, pitch_hz: float | None) -> None:
        """Let the tone sound at a pitch, or be still."""
        if self.tone is None:
            return
        if pitch_hz is None:
            self.tone.stop()
        else:
            self.tone.play(pitch_hz)


class Signals:
    """The thread; `start`, `show` each new view, `close`."""

    def __init__(
        self,
        devices: Devices,
        offer: Callable[[Asked], bool],
        died: Callable[[str, str], None],
    ) -> None:
        """Prepare. `offer` puts a command on the core's inbox, False when it is full."""
        self._devices, self._offer, self._died = devices, offer, died
        self._view: View | None = None
        self._news = threading.Event()
        self._end = threading.Event()
        self._rhythms: dict[str, Rhythm | None] = {}
        self._pitch_hz: float | None = None
        self._thread = threading.Thread(target=self._run, name="signals")
        if devices.button is not None:
            devices.button.when_pressed = self._press

    def start(self) -> None:
        """Begin to show."""
        self._thread.start()

    def show(self, snapshot: Snapshot) -> None:
        """Take the newest view; never waits."""
        self._view = snapshot.view
        self._news.set()

    def close(self) -> None:
        """Fall silent and give the pins back."""
        self._end.set()
        self._news.set()
        if self._thread.is_alive():
            self._thread.join()
        self._devices.close()

    def _run(self) -> None:
        try:
            while not self._end.is_set():
                if self._news.wait(LOOK_S):
                    self._news.clear()
                    self._apply(self._view)
        except Exception as error:  # noqa: BLE001 - top of the thread: its death must be told
            self._died(self._thread.name, repr(error))

    def _apply(self, view: View | None) -> None:
        if view is None:
            return
        devices = self._devices
        self._change("sound", sound_of(view), devices.sound)
        for priority in PRIORITIES:
            self._change(priority, lamp_of(view, priority), partial(devices.light, priority))
        self._tune(tone_hz(view))

    def _change(
        self, what: str, rhythm: Rhythm | None, beat: Callable[[Rhythm | None], None]
    ) -> None:
        """Pass on only what is new: a rhythm that began anew at every view would stutter."""
        if what not in self._rhythms or self._rhythms[what] != rhythm:
            self._rhythms[what] = rhythm
            beat(rhythm)

    def _tune(self, pitch_hz: float | None) -> None:
        before = self._pitch_hz
        if pitch_hz is not None and before is not None:
            if 1.0 / LEAST_STEP < pitch_hz / before < LEAST_STEP:
                return
        elif pitch_hz is before:
            return
        self._pitch_hz = pitch_hz
        self._devices.play(pitch_hz)

    def _press(self) -> None:
        """Say what a press means; called by the library's own thread."""
        view = self._view
        for command in [] if view is None else pressed(view):
            self._offer(Asked(token=NOBODY, command=command))


def _beat(device: Any, rhythm: Rhythm | None) -> None:  # noqa: ANN401 - of a package loaded late
    if device is None:
        return
    if rhythm is None:
        device.off()
    elif rhythm.off_s == 0.0:
        device.on()
    else:
        device.blink(rhythm.on_s, rhythm.off_s)


def _library(load: Callable[[str], Any]) -> Any:  # noqa: ANN401 - a module
    try:
        return load("gpiozero")
    except ImportError as error:
        text = (
            "[signals] needs the package gpiozero. Install it: pip install 'bagvigil[gpio]', "
            "or take [signals] out."
        )
        raise InputError([text]) from error
