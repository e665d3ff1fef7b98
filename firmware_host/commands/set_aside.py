"""A reason not to mix, set aside in a person's own words and kept where the job is described."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.config.toml_text import read_text
from firmware_host.config.wording import quoted
from firmware_host.errors import InputError
from firmware_host.outputs.whole_file import write_whole


def set_aside(path: Path, said: Sequence[Sequence[str]]) -> JobDescription:
    """Add the overrides to the job file and give the job as it now reads.

    Nothing is written unless the whole still loads. Raises InputError otherwise.
    """
    text = read_text(path)
    held = {one.name for one in parse_job(text, str(path)).overrides}
    for name, reason in said:
        if name in held:
            raise InputError([f"{path} sets {name} aside already. Change it there."])
        held.add(name)
        text = text.rstrip("\n") + (
            f"\n\n[[overrides]]\nname = {quoted(name)}\nreason = {quoted(reason)}\n"
        )
    job = parse_job(text, str(path))
    write_whole(path, text.encode())
    return job
