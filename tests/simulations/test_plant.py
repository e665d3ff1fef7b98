from dataclasses import replace

import pytest

from simulations.plant import Plant, PlantSettings
from simulations.resin import ResinSettings


def run(seed: int, settings: PlantSettings, seconds: float, piece_s: float) -> Plant:
    plant = Plant(settings, seed)
    plant.mix()
    plant.bag.vented = False
    plant.bag.pump.switch(on=True)
    plant.bag.disturb()
    for _ in range(int(seconds / piece_s)):
        plant.advance(piece_s)
    return plant


def test_the_same_seed_gives_the_same_bench() -> None:
    first, second = (run(7, PlantSettings(), 900.0, 2.0) for _ in range(2))
    assert first.truth() == second.truth()
    assert first.truth() != run(8, PlantSettings(), 900.0, 2.0).truth()


def test_how_time_is_cut_up_hardly_matters() -> None:
    fine, coarse = (run(7, PlantSettings(), 4800.0, piece_s) for piece_s in (0.25, 60.0))
    assert fine.gel_s is not None
    assert fine.gel_s == pytest.approx(coarse.gel_s, abs=0.2)
    assert fine.bag.bag_pa == pytest.approx(coarse.bag.bag_pa, rel=1e-3)
    assert fine.hottest_k == pytest.approx(coarse.hottest_k, abs=0.05)


def test_gel_is_the_moment_the_mean_conversion_reaches_it() -> None:
    resin = ResinSettings(clock_min_at_25c=5.0, gel_conversion=0.05)
    plant = run(3, replace(PlantSettings(), resin=resin), 600.0, 0.5)
    before = plant.conversion
    while plant.gel_s is None:
        before = plant.conversion
        plant.advance(0.5)
    assert before < 0.05 <= plant.conversion
    assert plant.time_s - 0.5 <= plant.gel_s <= plant.time_s


def test_time_does_not_run_back() -> None:
    with pytest.raises(ValueError, match="cannot be turned back by 1.0 s"):
        Plant(PlantSettings(), 1).advance(-1.0)
