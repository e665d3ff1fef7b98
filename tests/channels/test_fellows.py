"""Couples as witnesses of each other."""

from __future__ import annotations

from collections.abc import Callable

from firmware_host.channels.fellows import Accusation, Fellows
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
        runs = [now_s] * len(ROLES)
        temps = lie(now_s, shown)
        for accusation in fellows.judge(now_s, temps, believed, runs, heated=False):
            believed[accusation.index] = False
            found.append(accusation)
    return found


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
    assert 4500.0 < found.since_s < 4520.0


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


def test_without_a_witness_nobody_is_accused() -> None:
    fellows = Fellows((Role.PART, Role.SHOP))
    for number in range(1, 2000):
        rise = exotherm(number * 5.0)
        temps = (293.0 + (rise if number < 900 else 0.0), 293.0)
        runs = [number * 5.0] * 2
        assert fellows.judge(number * 5.0, temps, [True, True], runs, heated=False) == []


def test_a_couple_back_with_its_fellows_may_be_believed_again() -> None:
    fellows = Fellows(ROLES)
    back = False
    for number in range(1, 1100):
        now_s = number * 5.0
        rise = exotherm(now_s)
        temps = tuple(293.0 + share * rise for share in (1.0, 0.9, 0.8, 0.0))
        fellows.judge(now_s, temps, [False, True, True, True], [now_s] * 4, heated=False)
        back = back or fellows.agrees(now_s, 0, temps)
    assert back
