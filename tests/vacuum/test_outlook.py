"""How long the vacuum lasts, against integrated gas laws and cases worked by hand."""

from __future__ import annotations

import pytest
from scipy.integrate import quad

from firmware_host.physics.holes import crack_flow, hole_flow
from firmware_host.vacuum.outlook import (
    AgainstKick,
    against_kick,
    crack_rise_s,
    hole_rise_s,
    leak_cm3_per_min,
    leak_pa_m3_per_s,
    minutes_to_limit,
)

ROOM_PA = 101_325.0


def test_a_hole_reaches_the_limit_along_a_line_while_it_is_choked() -> None:
    # A 0.1 mm hole fills 3 L from 15 to 50 kPa in 664.261 s: 0.158070 / 0.003 Pa/s, by an ODE.
    assert hole_rise_s(15_000.0, 50_000.0, 52.69, ROOM_PA) == pytest.approx(664.261, rel=1e-4)


@pytest.mark.parametrize(
    ("from_pa", "to_pa"), [(5_000.0, 80_000.0), (40_000.0, 60_000.0), (60_000.0, 95_000.0)]
)
def test_holes_and_cracks_take_as_long_as_their_laws_integrate_to(
    from_pa: float, to_pa: float
) -> None:
    for law, lasts_s in ((hole_flow, hole_rise_s), (crack_flow, crack_rise_s)):
        start = law(from_pa / ROOM_PA)
        whole, _ = quad(lambda p, law=law, start=start: start / law(p / ROOM_PA), from_pa, to_pa)
        assert lasts_s(from_pa, to_pa, 10.0, ROOM_PA) == pytest.approx(whole / 10.0, rel=1e-4)


def test_the_soonest_end_is_a_hole_and_the_latest_a_crack() -> None:
    ahead = minutes_to_limit(5_000.0, 50_000.0, 10.0, 20.0, ROOM_PA)
    assert ahead is not None
    soonest, latest = ahead
    assert soonest == pytest.approx(45_000.0 / 20.0 / 60.0)
    assert latest is not None
    assert latest > 45_000.0 / 10.0 / 60.0


def test_nothing_is_said_of_a_limit_that_is_past_or_out_of_sight() -> None:
    assert minutes_to_limit(50_000.0, 50_000.0, 1.0, 2.0, ROOM_PA) is None
    assert minutes_to_limit(3_000.0, 15_000.0, 0.0, 0.0, ROOM_PA) is None
    assert minutes_to_limit(3_000.0, 15_000.0, 0.0, 0.01, ROOM_PA) is None
    assert minutes_to_limit(3_000.0, 15_000.0, 0.0, 10.0, ROOM_PA) == (20.0, None)


def test_no_bag_rises_above_its_room() -> None:
    """500 mbar are a limit at the sea; on a pass at 5,500 m they are the room."""
    assert minutes_to_limit(3_000.0, 50_000.0, 10.0, 20.0, 50_000.0) is None
    assert minutes_to_limit(3_000.0, 49_999.0, 10.0, 20.0, 50_000.0) is not None


@pytest.mark.parametrize(
    ("soonest_s", "latest_s", "against"),
    [
        (100.0, 999.0, AgainstKick.BEFORE),
        (100.0, 1000.0, AgainstKick.UNSURE),
        (100.0, None, AgainstKick.UNSURE),
        (2000.0, 2100.0, AgainstKick.UNSURE),
        (2001.0, None, AgainstKick.AFTER),
    ],
)
def test_the_end_is_held_against_both_ends_of_the_kick(
    soonest_s: float, latest_s: float | None, against: AgainstKick
) -> None:
    assert against_kick(soonest_s, latest_s, 1000.0, 2000.0) is against


def test_a_leak_at_the_usual_limit_is_twenty_cm3_of_room_air_a_minute() -> None:
    # 3 L, 1 inHg in 5 min: 20.0526 cm3/min of room air at 20 C and 101325 Pa.
    rise = 3386.389 / 300.0
    assert leak_cm3_per_min(rise, 3.0, None, None, ROOM_PA) == pytest.approx(20.0526, rel=1e-5)
    # At a laminate of 60 C, three tenths of the gas hold 12 % fewer moles: by hand 0.96401.
    warm = leak_pa_m3_per_s(rise, 3.0, 333.15, 293.15)
    assert warm / leak_pa_m3_per_s(rise, 3.0, 293.15, 293.15) == pytest.approx(0.963980, rel=1e-4)
