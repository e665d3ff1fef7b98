"""How deep is wise: the lowest bag pressure that neither boils something nor crushes the form.

Pure. Every bound is an absolute pressure that the bag should stay above; the highest of them rules,
and is told with its reason. A liquid bounds at 1.5 times its vapour pressure, at the *present*
temperature of the place that holds it: it is the exotherm, not the cold hold, that boils styrene.
Water and solvent count where the job says that they may be there, else they are only told.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from firmware_host.config.plan_tables import Form
from firmware_host.config.schema import Family, JobDescription
from firmware_host.physics.gas import acetone_pressure_pa, styrene_pressure_pa, water_pressure_pa
from firmware_host.physics.pump_down import ultimate_pressure_pa

POROSITY_MARGIN = 1.5
"""Of the vapour pressure: 1.0 boils. Common practice for resin under vacuum, no source."""
COLDEST_K, HOTTEST_K = 273.2, 418.0
"""Between these the vapour pressures are those of a fit, not a guess."""


class Why(StrEnum):
    """What rules how deep is wise."""

    STYRENE = "styrene"
    WATER = "water"
    SOLVENT = "solvent"
    FORM = "form"
    GAUGE = "gauge"
    PUMP = "pump"
    """Nothing else: no deeper is possible here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquids:
    """What may boil, and where."""

    has_styrene: bool
    may_be_damp: bool
    """Water in form, core or cloth."""
    may_hold_solvent: bool
    laminate_k: float | None
    """The hottest believed place of the laminate."""
    form_k: float | None
    """None: as warm as the laminate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What form, gauge, room and pump allow."""

    room_pa: float | None
    form_bears_pa: float | None = None
    """Below room pressure."""
    gauge_lowest_pa: float | None = None
    """Below it the gauge shows a number and measures nothing."""
    pump_pa: float = 0.0
    """Against a shut valve."""
    leak_pa_per_s: float = 0.0
    tau_s: float | None = None
    """V / S of the newest pull-down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """How deep is wise, and why no deeper."""

    deepest_pa: float
    why: Why
    possible_pa: float
    """Lowest pressure that this pump reaches in this bag; 0 from a perfect one."""


def liquids_of(job: JobDescription, *, laminate_k: float | None, form_k: float | None) -> Liquids:
    """Give what may boil on a job, at the warmest places that are believed."""
    form = job.form or Form()
    return Liquids(
        has_styrene=job.resin.family is not Family.EPOXY,
        may_be_damp=form.damp,
        may_hold_solvent=form.wet_acetone,
        laminate_k=laminate_k,
        form_k=form_k,
    )


def deepest_wise(liquids: Liquids, bench: Bench) -> Ceiling:
    """Give the lowest wise bag pressure.

    p >= max(1.5 psat(T), p_room - what the form bears, the gauge's lowest, p_pump + r tau).

    >>> cold = Liquids(has_styrene=True, may_be_damp=False, may_hold_solvent=False,
    ...     laminate_k=298.15, form_k=None)
    >>> found = deepest_wise(cold, Bench(room_pa=101325.0))
    >>> round(found.deepest_pa), found.why.value
    (1251, 'styrene')
    """
    possible_pa = bench.pump_pa
    if bench.tau_s is not None:
        possible_pa = ultimate_pressure_pa(bench.pump_pa, bench.leak_pa_per_s, bench.tau_s)
    bounds = [(possible_pa, Why.PUMP), *_boiling(liquids), *_bearing(bench)]
    deepest_pa, why = max(bounds, key=lambda bound: bound[0])
    return Ceiling(deepest_pa=deepest_pa, why=why, possible_pa=possible_pa)


def water_bound_pa(liquids: Liquids) -> float | None:
    """Give the pressure below which trapped water would make bubbles, with the margin.

    >>> wet = Liquids(has_styrene=True, may_be_damp=False, may_hold_solvent=False,
    ...     laminate_k=298.15, form_k=303.15)
    >>> round(water_bound_pa(wet), -1)
    6390.0
    """
    warmest_k = max((k for k in (liquids.laminate_k, liquids.form_k) if k), default=None)
    if warmest_k is None:
        return None
    return POROSITY_MARGIN * water_pressure_pa(_within(warmest_k))


def _boiling(liquids: Liquids) -> list[tuple[float, Why]]:
    found = []
    water_pa = water_bound_pa(liquids)
    if liquids.may_be_damp and water_pa is not None:
        found.append((water_pa, Why.WATER))
    if liquids.laminate_k is None:
        return found
    laminate_k = _within(liquids.laminate_k)
    if liquids.has_styrene:
        styrene_pa = float(styrene_pressure_pa(np.array([laminate_k]))[0])
        found.append((POROSITY_MARGIN * styrene_pa, Why.STYRENE))
    if liquids.may_hold_solvent:
        found.append((POROSITY_MARGIN * acetone_pressure_pa(laminate_k), Why.SOLVENT))
    return found


def _bearing(bench: Bench) -> list[tuple[float, Why]]:
    found = []
    if bench.form_bears_pa is not None and bench.room_pa is not None:
        found.append((bench.room_pa - bench.form_bears_pa, Why.FORM))
    if bench.gauge_lowest_pa is not None:
        found.append((bench.gauge_lowest_pa, Why.GAUGE))
    return found


def _within(temp_k: float) -> float:
    return min(max(temp_k, COLDEST_K), HOTTEST_K)
