"""Cloth and resin: a round inspection hatch worked through by hand, and the two weighings."""

from __future__ import annotations

import pytest

from firmware_host.batch.resin_need import (
    Loss,
    fibre_volume_fraction,
    need_of_laminate,
    need_of_plies,
    resin_fraction_of_thickness,
    resin_fraction_of_volume,
    resin_fraction_reached,
    thickness_mm,
)
from firmware_host.config.plan_tables import Ply, Target

BLANK = Ply(area_m2=0.46 * 0.46, areal_weight_g_per_m2=300.0, count=5)
"""Cut 0.46 x 0.46 m, five plies of 300 g/m2."""


def test_the_hatch_comes_out_as_worked_by_hand() -> None:
    need = need_of_plies([BLANK], Target(lap_fraction=0.10), 0.50)
    assert need.glass_g == pytest.approx(349.14)
    assert need.kept_g == pytest.approx(349.14)
    assert [loss.where for loss in need.losses] == ["peel ply", "bleeder", "cup and brush"]
    assert [loss.grams for loss in need.losses] == pytest.approx([19.044, 31.74, 15.0])
    assert need.mixed_g == pytest.approx(414.924)
    assert need.thickness_mm == pytest.approx(1.8405512)
    assert need.fibre_volume_fraction == pytest.approx(0.32085561)


def test_a_loss_given_as_one_fraction_replaces_the_three() -> None:
    need = need_of_plies([BLANK], Target(loss_fraction=0.15), 0.50)
    assert need.losses == (Loss(where="bleeder, cup and brush", grams=0.15 * need.kept_g),)


def test_plies_of_different_cloth_add_up_and_lose_over_the_largest() -> None:
    small = Ply(area_m2=0.05, areal_weight_g_per_m2=200.0, count=2)
    need = need_of_plies([BLANK, small], Target(lap_fraction=0.0), 0.40)
    assert need.glass_g == pytest.approx(0.2116 * 1500.0 + 0.05 * 400.0)
    assert need.kept_g == pytest.approx(need.glass_g * 2.0 / 3.0)
    assert need.losses[0].grams == pytest.approx(90.0 * 0.2116)


@pytest.mark.parametrize(
    ("thick_mm", "volume", "glass"),
    [(1.4, 0.4218, 0.607), (1.6, 0.3691, 0.553), (1.8, 0.3281, 0.508), (2.0, 0.2953, 0.470)],
)
def test_a_measured_thickness_gives_the_fractions_of_astm_d3171_procedure_ii(
    thick_mm: float, volume: float, glass: float
) -> None:
    """1.5 kg/m2 of cloth, 2540 and 1200 kg/m3; worked by hand."""
    resin = resin_fraction_of_thickness(1.5, thick_mm)
    assert 1.0 - resin == pytest.approx(glass, abs=5e-4)
    assert fibre_volume_fraction(resin) == pytest.approx(volume, abs=5e-5)
    assert thickness_mm(1.5, resin) == pytest.approx(thick_mm)


@pytest.mark.parametrize("fraction", [0.2, 0.5, 0.8])
def test_mass_and_volume_fraction_undo_each_other(fraction: float) -> None:
    assert resin_fraction_of_volume(fibre_volume_fraction(fraction)) == pytest.approx(fraction)


def test_two_weighings_give_the_fraction_that_was_reached() -> None:
    assert resin_fraction_reached(349.14, 698.28) == pytest.approx(0.5)
    assert resin_fraction_reached(349.14, 600.0) == pytest.approx(0.4181)


@pytest.mark.parametrize(("dry_g", "part_g"), [(300.0, 300.0), (300.0, 299.0), (0.0, 10.0)])
def test_a_part_no_heavier_than_its_cloth_is_refused(dry_g: float, part_g: float) -> None:
    with pytest.raises(ValueError, match="cannot hold a dry stack"):
        resin_fraction_reached(dry_g, part_g)


def test_a_laminate_known_by_its_size_alone_is_weighed_out_too() -> None:
    need = need_of_laminate(0.6, 4.0, 1650.0, Target(loss_fraction=0.0), 0.58)
    assert need.glass_g + need.kept_g == pytest.approx(3960.0)
    assert need.mixed_g == pytest.approx(0.58 * 3960.0)
    assert need.thickness_mm is None


@pytest.mark.parametrize("fraction", [0.0, 1.0, -0.1])
def test_a_volume_fraction_outside_its_range_is_refused(fraction: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        resin_fraction_of_volume(fraction)
