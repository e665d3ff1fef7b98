"""Tables of job.toml that the plan before the pour reads; all of them are optional.

Nothing here steers the watch: a job file that plans a pour also loads for watching it. None means
"not given"; the plan asks for what it needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated

from msgspec import Meta

CRUSH_SHARE = 0.5
"""Of a foam's rated crush strength: loads are one-sided and foam creeps. Ours, no source."""
Text = Annotated[str, Meta(min_length=1, max_length=200)]
BeforePour = Annotated[float, Meta(ge=-30.0, le=60.0)]
"""degC of something a person stands beside."""
Grams = Annotated[float, Meta(gt=0.0, le=100000.0)]
Percent = Annotated[float, Meta(gt=0.0, le=10.0)]
Minutes = Annotated[float, Meta(gt=0.0, le=10000.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """[conditions], measured before the pour."""

    shop_c: BeforePour | None = None
    resin_c: BeforePour | None = None
    form_c: BeforePour | None = None
    station_pressure_hpa: Annotated[float, Meta(ge=300.0, le=1100.0)] | None = None
    """At the bench, not reduced to sea level."""
    altitude_m: Annotated[float, Meta(ge=-430.0, le=6000.0)] | None = None
    """Of the bench; with it a sea-level figure is found out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ply:
    """[[plies]]: one kind of cloth."""

    area_m2: Annotated[float, Meta(gt=0.0, le=1000.0)]
    areal_weight_g_per_m2: Annotated[float, Meta(gt=0.0, le=5000.0)]
    count: Annotated[int, Meta(ge=1, le=1000)] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """[target]: how much resin the finished laminate shall hold, and what is lost on the way."""

    resin_mass_fraction: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.50
    fibre_volume_fraction: Annotated[float, Meta(gt=0.0, lt=1.0)] | None = None
    """Where given, it replaces the mass fraction."""
    thickness_mm: Annotated[float, Meta(gt=0.0, le=200.0)] | None = None
    """Where given, it replaces both, for the cloth that is named."""
    lap_fraction: Annotated[float, Meta(ge=0.0, le=2.0)] = 0.10
    """Extra cloth for overlaps."""
    loss_fraction: Annotated[float, Meta(ge=0.0, le=5.0)] | None = None
    """On what the laminate keeps; None: the three itemised losses below hold."""
    peel_ply_g_per_m2: Annotated[float, Meta(ge=0.0, le=2000.0)] = 90.0
    bleeder_g_per_m2: Annotated[float, Meta(ge=0.0, le=5000.0)] = 150.0
    cup_and_brush_g: Annotated[float, Meta(ge=0.0, le=5000.0)] = 15.0


class Ounce(StrEnum):
    """The two things an ounce can be, 15 % apart for resin."""

    FLUID = "fluid"
    WEIGHT = "weight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropper:
    """[dropper]: a drop may be 0.01 g or 0.08 g, and only the scale knows."""

    name: Text = "dropper"
    drops_weighed: Annotated[int, Meta(ge=1, le=1000)] | None = None
    weighed_g: Annotated[float, Meta(gt=0.0, le=1000.0)] | None = None
    """None: not weighed, so a count of drops is a wide range."""
    weighed_on: date | None = None
    drops: Annotated[int, Meta(ge=1, le=10000)] | None = None
    """Drops that are to be counted; judged in place of the job's percent."""
    drops_per_ounce: Annotated[float, Meta(gt=0.0, le=200.0)] | None = None
    """The shop's own rule, shown beside the dose; `ounce` says which ounce."""
    ounce: Ounce | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Initiator:
    """[initiator]: the solution in the bottle."""

    name: str = ""
    density_g_per_ml: Annotated[float, Meta(ge=0.5, le=3.0)] = 1.15
    """Ketone peroxide solutions, from memory: 1.10 to 1.18."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """[sheet]: what the maker's data sheet prints. Where given, it replaces our own limits."""

    name: str = ""
    lowest_percent: Percent | None = None
    highest_percent: Percent | None = None
    coldest_c: BeforePour | None = None
    gel_min: Minutes | None = None
    gel_at_c: BeforePour | None = None
    gel_at_percent: Percent | None = None
    hardener_parts_per_100: Annotated[float, Meta(gt=0.0, le=300.0)] | None = None
    """Two-part epoxy; a mix more than 3 % off this is refused."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CupTest:
    """[[cup_tests]]: a cup of this can that gelled while somebody watched."""

    gel_min: Minutes
    at_c: BeforePour
    initiator_percent: Percent | None = None
    """None: as dosed for the job."""
    on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """[form]: what the part is laid up on."""

    name: str = ""
    deepest_vacuum_kpa: Annotated[float, Meta(gt=0.0, le=110.0)] | None = None
    """Below room pressure; beyond it the form yields."""
    crush_kpa: Annotated[float, Meta(gt=0.0, le=2000.0)] | None = None
    """Rated crush strength of a foam; half of it is borne where nothing else is stated."""
    damp: bool = False
    """Plaster, core or cloth that may hold water: it boils before styrene does."""
    wet_acetone: bool = False
    """Wiped with acetone and not aired since."""

    highest_temperature_c: Annotated[float, Meta(gt=0.0, le=300.0)] | None = None
    shell_to_cup_ratio: Annotated[float, Meta(ge=0.2, le=5.0)] | None = None
    """A shell on this form gels this many times later than the cup."""

    @property
    def bears_kpa(self) -> float | None:
        """Vacuum that it bears, below room pressure: as stated, else half its crush strength."""
        if self.deepest_vacuum_kpa is not None:
            return self.deepest_vacuum_kpa
        return None if self.crush_kpa is None else CRUSH_SHARE * self.crush_kpa


@dataclass(frozen=True, slots=True, kw_only=True)
class Pump:
    """[pump]."""

    name: str = ""
    ultimate_mbar: Annotated[float, Meta(ge=0.0, le=1000.0)] = 0.0
    """Lowest absolute pressure the pump reaches against a shut valve."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """[[lots]]: one can, bottle or roll."""

    what: Text
    lot: Text
    made: date | None = None
    opened: date | None = None
    expires: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoCups:
    """[two_cups]: the same part from two smaller cups, judged by the same gates."""

    work_time_min: Annotated[float, Meta(gt=0.0, le=600.0)]
    """Honest minutes from mixing the first cup to bag closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PostCure:
    """[post_cure]: how far the part shall be cured in the end, and what it may be warmed to."""

    conversion: Annotated[float, Meta(gt=0.0, lt=1.0)] = 0.90
    glass_transition_c: Annotated[float, Meta(ge=-60.0, le=300.0)] | None = None
    """Where given, it replaces the conversion."""
    highest_c: Annotated[float, Meta(ge=20.0, le=250.0)] = 60.0
    """Of the step, by the sheets of resin, core and form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """[weighed]: what the scale said of the cut stack and of the finished part."""

    dry_g: Grams
    part_g: Grams


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """[[people]]; stays in the job folder, nothing on the wire names a person."""

    who: Text
    did: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """[[overrides]]: a reason not to mix that somebody sets aside, in their own words."""

    name: Annotated[
        str, Meta(pattern=r"^[a-z_]{1,40}$", description="a reason's name as plan gives it")
    ]
    reason: Annotated[str, Meta(min_length=10, max_length=500)]
    by: str = ""
