"""How much cloth weighs, how much resin it needs, and the reverse from two weighings.

Pure. Fractions of mass are of the finished laminate. Densities: E-glass 2540, cured resin 1200
kg/m3, liquid resin 1.10 g/ml (handbook values, from memory). Thickness and fibre volume follow
ASTM D3171, procedure II: areal weight over density, without voids.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from firmware_host.config.plan_tables import Ply, Target

GLASS_KG_PER_M3 = 2540.0
CURED_RESIN_KG_PER_M3 = 1200.0
LIQUID_RESIN_G_PER_ML = 1.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Resin that does not stay in the laminate."""

    where: str
    grams: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinNeed:
    """What to weigh out."""

    glass_g: float
    kept_g: float
    """Resin that stays in the laminate."""
    losses: tuple[Loss, ...]
    thickness_mm: float | None
    """Away from laps; None where no cloth was named."""
    fibre_volume_fraction: float

    @property
    def mixed_g(self) -> float:
        """Resin to mix; for epoxy together with its hardener."""
        return self.kept_g + sum(loss.grams for loss in self.losses)

    @property
    def mixed_ml(self) -> float:
        """Its volume as a liquid."""
        return self.mixed_g / LIQUID_RESIN_G_PER_ML


def need_of_plies(plies: Sequence[Ply], target: Target, resin_mass_fraction: float) -> ResinNeed:
    """Resin for plies of dry cloth."""
    dry_g = sum(ply.area_m2 * ply.areal_weight_g_per_m2 * ply.count for ply in plies)
    area_m2 = max(ply.area_m2 for ply in plies)
    glass_g = dry_g * (1.0 + target.lap_fraction)
    kept_g = resin_kept_g(glass_g, resin_mass_fraction)
    return ResinNeed(
        glass_g=glass_g,
        kept_g=kept_g,
        losses=_losses(target, area_m2, kept_g),
        thickness_mm=thickness_mm(areal_kg_per_m2(plies), resin_mass_fraction),
        fibre_volume_fraction=fibre_volume_fraction(resin_mass_fraction),
    )


def areal_kg_per_m2(plies: Sequence[Ply]) -> float:
    """Dry cloth where all plies lie over one another, away from laps."""
    return sum(ply.areal_weight_g_per_m2 * ply.count for ply in plies) / 1000.0


def need_of_laminate(
    area_m2: float, laminate_mm: float, kg_per_m3: float, target: Target, resin_mass_fraction: float
) -> ResinNeed:
    """Resin for a laminate known only by its size: no cloth was named."""
    whole_g = area_m2 * laminate_mm * kg_per_m3
    kept_g = whole_g * resin_mass_fraction
    return ResinNeed(
        glass_g=whole_g - kept_g,
        kept_g=kept_g,
        losses=_losses(target, area_m2, kept_g),
        thickness_mm=None,
        fibre_volume_fraction=fibre_volume_fraction(resin_mass_fraction),
    )


def resin_kept_g(glass_g: float, resin_mass_fraction: float) -> float:
    """Resin in a laminate of so much glass.

    m_r = m_g w / (1 - w), w the resin's part of the mass.

    >>> round(resin_kept_g(167.2, 0.5), 1)
    167.2
    """
    return glass_g * resin_mass_fraction / (1.0 - resin_mass_fraction)


def thickness_mm(cloth_kg_per_m2: float, resin_mass_fraction: float) -> float:
    """Thickness of a laminate without voids.

    h = W [1/rho_f + (w/(1-w))/rho_r], W the dry cloth per area.

    >>> round(thickness_mm(1.5, 0.5), 4)
    1.8406
    """
    resin_kg_per_m2 = cloth_kg_per_m2 * resin_mass_fraction / (1.0 - resin_mass_fraction)
    return 1000.0 * (cloth_kg_per_m2 / GLASS_KG_PER_M3 + resin_kg_per_m2 / CURED_RESIN_KG_PER_M3)


def fibre_volume_fraction(resin_mass_fraction: float) -> float:
    """Glass as a part of the volume.

    V_f = (g/rho_f) / (g/rho_f + w/rho_r), g = 1 - w.

    >>> round(fibre_volume_fraction(0.5), 5)
    0.32086
    """
    glass = (1.0 - resin_mass_fraction) / GLASS_KG_PER_M3
    return glass / (glass + resin_mass_fraction / CURED_RESIN_KG_PER_M3)


def resin_fraction_of_volume(fibre_fraction: float) -> float:
    """Give the resin's part of the mass for a fibre volume fraction: the inverse of the above.

    >>> round(resin_fraction_of_volume(0.3208556), 4)
    0.5
    """
    if not 0.0 < fibre_fraction < 1.0:
        raise ValueError(f"fibre volume fraction {fibre_fraction} must lie between 0 and 1")
    resin = (1.0 - fibre_fraction) * CURED_RESIN_KG_PER_M3
    return resin / (resin + fibre_fraction * GLASS_KG_PER_M3)


def resin_fraction_of_thickness(cloth_kg_per_m2: float, laminate_mm: float) -> float:
    """Give the resin's part of the mass of so much cloth pressed to a thickness.

    V_f = W / (rho_f h); below that the cloth alone is thicker.

    >>> round(1.0 - resin_fraction_of_thickness(1.5, 1.4), 3)
    0.607
    """
    return resin_fraction_of_volume(cloth_kg_per_m2 / (GLASS_KG_PER_M3 * laminate_mm / 1000.0))


def resin_fraction_reached(dry_g: float, part_g: float) -> float:
    """Give the resin's part of the mass from the dry stack and the trimmed part, both weighed.

    >>> round(resin_fraction_reached(167.2, 326.0), 3)
    0.487
    """
    if not 0.0 < dry_g < part_g:
        raise ValueError(
            f"a part of {part_g:g} g cannot hold a dry stack of {dry_g:g} g. Weigh the part as it "
            "came off the form, and the stack as it was cut."
        )
    return 1.0 - dry_g / part_g


def _losses(target: Target, area_m2: float, kept_g: float) -> tuple[Loss, ...]:
    if target.loss_fraction is not None:
        return (Loss(where="bleeder, cup and brush", grams=target.loss_fraction * kept_g),)
    return (
        Loss(where="peel ply", grams=target.peel_ply_g_per_m2 * area_m2),
        Loss(where="bleeder", grams=target.bleeder_g_per_m2 * area_m2),
        Loss(where="cup and brush", grams=target.cup_and_brush_g),
    )
