"""Couples as witnesses of each other."""

from __future__ import annotations

import math
from collections.abc import Callable

from firmware_host.channels.fellows import Fellows
from firmware_host.channels.scene import Accusation, Scene
from firmware_host.model.channels import Role

ROLES = (Role.PART, Role.PART, Role.MOULD, Role.SHOP)
OFFSETS = (0.4, -0.3, 0.2, -0.5)
Temps = tuple[float | None, ...]


def exotherm(now_s: float) -> float:
    """Rise over the shop: nothing for an hour, then up to 30 K in half an hour, and down again."""
    if now_s < 3600.0:
        return 0.0
    rise = (now_s - 3600.0) / 1800.0 * 30.0
    return min(rise, 30.0) if now_s < 7200.0 else max(30.0 - (now_s - 7200.0) / 120.0, 0.0)


def watch(lie: Callable[[float, Temps], Temps], until_s: float = 10800.0) -> list[Accusation]:
    fellows = Fellows(ROLES)
    believed = [True] * len(ROLES)
    found: list[Accusation] = []
    for number in range(1, int(until_s / 5.0)):
        now_s = number * 5.0
        rise = exotherm(now_s)
        true = (293.0 + rise, 293.0 + 0.9 * rise, 293.0 + 0.8 * rise, 293.0)
        shown = tuple(t + o for t, o in zip(true, OFFSETS, strict=True))
        temps = lie(now_s, shown)
        for accusation in fellows.judge(now_s, temps, scene(now_s, believed)):
            believed[accusation.index] = False
            found.append(accusation)
    return found


def scene(now_s: float, believed: list[bool]) -> Scene:
    return Scene(
        believed=believed,
        noisy=[False] * len(believed),
        runs_since_s=[now_s] * len(believed),
        heated=False,
        wet=now_s > 600.0,
        handled=False,
    )


def with_part1(temps: Temps, value: float | None) -> Temps:
    return (value, *temps[1:])


def test_a_healthy_bench_accuses_nobody() -> None:
    assert watch(lambda _, temps: temps) == []


def test_a_couple_that_comes_off_is_named_and_nothing_else() -> None:
    def off(now_s: float, temps: Temps) -> Temps:
        return with_part1(temps, 293.4) if now_s > 4500.0 else temps

    (found,) = watch(off)
    assert found.index == 0
    assert found.kind in ("fallen_off", "jumped")
    assert 4490.0 < found.since_s < 4520.0


def test_a_couple_that_never_warms_is_named_once_its_fellows_do() -> None:
    (found,) = watch(lambda _, temps: with_part1(temps, 293.4))
    assert found.index == 0
    assert found.since_s < 3600.0 + 600.0


def test_a_reversed_couple_is_named_on_the_first_warmth() -> None:
    def reversed_part(now_s: float, temps: Temps) -> Temps:
        return with_part1(temps, 293.4 - exotherm(now_s))

    (found,) = watch(reversed_part)
    assert (found.index, found.kind) == (0, "reversed")


def test_a_couple_that_drifts_alone_in_the_calm_is_named() -> None:
    def drifting(now_s: float, temps: Temps) -> Temps:
        first = temps[0]
        assert first is not None
        return with_part1(temps, first + max(now_s - 600.0, 0.0) / 3600.0 * 6.0)

    (found,) = watch(drifting, until_s=3600.0)
    assert (found.index, found.kind) == (0, "drifting")


def alone(rise_k: Callable[[float], float]) -> list[Accusation]:
    fellows = Fellows((Role.PART, Role.SHOP))
    found: list[Accusation] = []
    for number in range(1, 2000):
        now_s = number * 5.0
        temps = (293.0 + rise_k(now_s), 293.0)
        found += fellows.judge(now_s, temps, scene(now_s, [not found, True]))
    return found


def test_without_a_witness_nobody_is_accused() -> None:
    # A thin skin that has died cools with a time constant of some four minutes.
    def died(now_s: float) -> float:
        return exotherm(min(now_s, 4500.0)) * math.exp(-max(now_s - 4500.0, 0.0) / 240.0)

    assert alone(died) == []


def test_a_fall_that_no_laminate_can_make_needs_no_witness() -> None:
    (found,) = alone(lambda now_s: exotherm(now_s) if now_s < 4500.0 else 0.3)
    assert (found.index, found.kind) == (0, "fallen_off")


def test_a_couple_that_slips_half_off_is_named_by_its_fellows() -> None:
    def slips(now_s: float, temps: Temps) -> Temps:
        if now_s < 6000.0:
            return temps
        lost = 0.6 * exotherm(now_s) * (1.0 - math.exp(-(now_s - 6000.0) / 10.0))
        return with_part1(temps, (temps[0] or 0.0) - lost)

    (found,) = watch(slips)
    assert (found.index, found.kind) == (0, "fallen_off")
    assert found.since_s < 6060.0


def test_a_couple_on_its_chip_is_named_though_it_stands_above_the_shop() -> None:
    # Bridged leads read the converter's own warmth, two kelvins above the shop.
    def bridged(now_s: float, temps: Temps) -> Temps:
        return with_part1(temps, 295.2) if now_s > 1200.0 else temps

    (found,) = watch(bridged)
    assert (found.index, found.kind) == (0, "fallen_off")
    assert found.since_s < 3600.0 + 400.0


def test_the_shops_lead_in_a_couples_place_is_named_on_the_first_warmth() -> None:
    def crossed(now_s: float, temps: Temps) -> Temps:
        del now_s
        return (temps[3], temps[1], temps[2], temps[0])

    found = watch(crossed)
    assert {(one.index, one.kind) for one in found} == {(0, "swapped"), (3, "swapped")}
    assert found[0].since_s < 3600.0 + 600.0


def test_a_slow_walk_is_named_in_half_the_time_that_a_bare_limit_takes() -> None:
    def drifting(now_s: float, temps: Temps) -> Temps:
        return with_part1(temps, (temps[0] or 0.0) - max(now_s - 600.0, 0.0) / 3600.0 * 3.0)

    (found,) = watch(drifting, until_s=600.0 + 0.6 * 3600.0)
    assert (found.index, found.kind) == (0, "drifting")


def test_first_heat_under_one_couple_is_no_drift() -> None:
    # Thick over one couple: it doubles every four minutes while its fellows hardly move.
    def early(now_s: float, temps: Temps) -> Temps:
        return with_part1(temps, (temps[0] or 0.0) + 0.05 * 2.0 ** ((now_s - 1800.0) / 240.0))

    assert watch(early, until_s=3300.0) == []


def test_a_couple_back_with_its_fellows_may_be_believed_again() -> None:
    fellows = Fellows(ROLES)
    back = False
    for number in range(1, 1100):
        now_s = number * 5.0
        rise = exotherm(now_s)
        temps = tuple(293.0 + share * rise for share in (1.0, 0.9, 0.8, 0.0))
        fellows.judge(now_s, temps, scene(now_s, [False, True, True, True]))
        back = back or fellows.agrees(now_s, 0, temps)
    assert back
