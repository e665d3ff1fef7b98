"""Buzzer, lamps, tone and button tried out one by one: only the person can tell what was heard."""

from __future__ import annotations

from collections.abc import Callable

from firmware_host.channels.bench_check import Finding, Level
from firmware_host.config.signal_tables import SignalTable
from firmware_host.errors import InputError
from firmware_host.outputs.signal_rhythms import PRIORITIES, SEEN, SOUNDS
from firmware_host.outputs.signals import Devices

TRIAL_HZ = 440.0
Ask = Callable[[str], bool | None]
"""Put a question; None where there is nobody to answer."""


def try_signals(
    table: SignalTable, ask: Ask, open_devices: Callable[[SignalTable], Devices] = Devices
) -> list[Finding]:
    """Let each device of the bench file speak, and ask whether it did."""
    try:
        devices = open_devices(table)
    except InputError as error:
        return [Finding(level=Level.FAIL, what="signals", text=str(error))]
    try:
        return [*_heard(devices, ask), *_seen(devices, ask), *_pressed(devices, ask)]
    finally:
        devices.close()


def _heard(devices: Devices, ask: Ask) -> list[Finding]:
    found = []
    if devices.buzzer is not None:
        devices.sound(SOUNDS["high"])
        found.append(_judged("buzzer", ask("Do you hear the buzzer?"), "hear it"))
        devices.sound(None)
    if devices.tone is not None:
        devices.play(TRIAL_HZ)
        found.append(_judged("tone", ask("Do you hear a tone?"), "hear it"))
        devices.play(None)
    return found


def _seen(devices: Devices, ask: Ask) -> list[Finding]:
    found = []
    for priority in PRIORITIES:
        if devices.lamps[priority] is not None:
            devices.light(priority, SEEN)
            answer = ask(f"Is the lamp for {priority} alarms lit?")
            found.append(_judged(f"lamp {priority}", answer, "see it"))
            devices.light(priority, None)
    return found


def _pressed(devices: Devices, ask: Ask) -> list[Finding]:
    if devices.button is None:
        return []
    presses: list[bool] = []
    devices.button.when_pressed = lambda: presses.append(True)
    if ask("Press the button and let it go. Done?") is None:
        return [_judged("button", None, "press it")]
    return [_judged("button", bool(presses), "press it")]


def _judged(what: str, answer: bool | None, doing: str) -> Finding:  # noqa: FBT001 - a reply
    if answer is None:
        text = f"nobody was there to {doing}. Run this on a terminal."
        return Finding(level=Level.DOUBT, what=what, text=text)
    if answer:
        return Finding(level=Level.OK, what=what, text="works.")
    text = "did not work. Check its pin in [signals], its wires, transistor and supply."
    return Finding(level=Level.FAIL, what=what, text=text)
