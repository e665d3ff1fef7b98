"""One job folder read for what it teaches: events folded, temperatures from pour to gel thinned."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from firmware_host.batch.plan import batch_of
from firmware_host.batch.poured import poured_percent
from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.errors import InputError, RecordError
from firmware_host.history.law import steady_equivalent_c
from firmware_host.history.outcomes import Outcome
from firmware_host.history.seen import Said, outcomes_of, said_by
from firmware_host.model.channels import Role
from firmware_host.model.samples import Frame, Mark
from firmware_host.outputs.record_reader import Record, open_record
from hardware.units import ZERO_CELSIUS_K


def read_outcomes(folder: Path, readings: int) -> tuple[Outcome, ...]:
    """Read a folder. Raises RecordError for a record, or its job text, that cannot be used."""
    with open_record(folder) as record:
        try:
            job = parse_job(record.job_toml(), str(folder))
            on = datetime.fromisoformat(record.meta.zero_wall).date()
        except InputError as error:
            raise RecordError(f"{folder}: its job.toml is not read today: {error}") from error
        except ValueError as error:
            raise RecordError(f"{folder} does not say on which day it was: {error}") from error
        said = said_by(record.events())
        temps_k = _temperatures(record, said, readings)
        dose = _dose(record, job)
        return tuple(outcomes_of(folder.name, job, on, said, temps_k or _stated(job, dose), dose))


def _dose(record: Record, job: JobDescription) -> float:
    """Give the dose as poured where somebody said so, else as planned."""
    batch = batch_of(job)
    if not job.resin.has_initiator:
        return 0.0
    said = (one.given for one in record.stored_others())
    notes = [one.note for one in said if isinstance(one, Mark) and one.name == "dosed"]
    poured = (poured_percent(note, batch.resin_g, job.dropper) for note in notes)
    return next((one for one in poured if one is not None), batch.initiator_percent)


def _temperatures(record: Record, said: Said, readings: int) -> list[float]:
    """Give means of the laminate couples, of the cup's for a cup, from pour to gel."""
    start_s, end_s = said.poured_s, said.end_s
    if start_s is None or end_s is None or end_s <= start_s:
        return []
    wanted = (Role.CUP,) if said.is_cup else (Role.PART, Role.MOULD)
    for role in wanted:
        found = list(_means(record, role, start_s, end_s, readings))
        if found:
            return found
    return []


def _means(
    record: Record, role: Role, start_s: float, end_s: float, readings: int
) -> Iterator[float]:
    for number, group in enumerate(record.groups):
        places = [i for i, channel in enumerate(group.channels) if channel.role is role]
        if not places:
            continue
        for frame in record.thinned_frames(number, start_s, end_s, readings):
            yield from _mean(frame, places)


def _mean(frame: Frame, places: list[int]) -> Iterator[float]:
    values = [value for i in places if (value := frame.values[i]) is not None]
    if values:
        yield sum(values) / len(values)


def _stated(job: JobDescription, dose: float) -> list[float]:
    """Fall back on what was measured by hand before the pour."""
    given = job.conditions
    if given.shop_c is None or given.resin_c is None or given.form_c is None:
        return []
    temp_c = steady_equivalent_c(
        job, shop_c=given.shop_c, resin_c=given.resin_c, form_c=given.form_c, dose=dose
    )
    return [temp_c + ZERO_CELSIUS_K]
