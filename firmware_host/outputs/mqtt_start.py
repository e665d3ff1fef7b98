"""Puts the way to a phone together; loaded only where the bench file has [mqtt]."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from firmware_host.clock import Clock
from firmware_host.model.commands import AcknowledgeCommand
from firmware_host.model.samples import Care, SelfCheck
from firmware_host.model.wire import JobOnWire
from firmware_host.outputs.mqtt_ears import AckEars
from firmware_host.outputs.mqtt_login import Login
from firmware_host.outputs.mqtt_phone import Phone
from firmware_host.outputs.status_socket import Asked

NOBODY = -1
"""Token of a command whose sender waits for no answer; the socket gives out none below 0."""


def phone_of(
    login: Login,
    folder: Path,
    zero_wall: str,
    clock: Clock,
    *,
    job_now_s: Callable[[], float],
    offer: Callable[[Asked | SelfCheck], bool],
    died: Callable[[str, str], None],
) -> Phone:
    """Make the phone's thread for a job folder; it begins at `start`.

    `job_now_s` reads the job's time line; `offer` puts a message on the core's inbox, False when
    it is full.
    """

    def say(ok: bool, text: str) -> bool:  # noqa: FBT001 - the only thing that is said
        return offer(SelfCheck(job_now_s(), Care.PHONE_PATH, ok=ok, text=text))

    def acknowledge(command: AcknowledgeCommand) -> bool:
        return offer(Asked(token=NOBODY, command=command))

    job = JobOnWire.of(folder.name, zero_wall)
    ears = AckEars(job, lambda: clock.monotonic_s() / clock.rate, acknowledge)
    return Phone(login, folder, job, clock, job_now_s=job_now_s, say=say, ears=ears, died=died)
