"""A couple back from silence: the same one, another one, or nobody can tell."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from firmware_host.channels.fellows import Fellows
from firmware_host.channels.replaced import SILENT_FOR_S, STANDS_FOR_S, Replaced
from firmware_host.channels.scene import Accusation
from firmware_host.model.channels import Role
from tests.channels.test_fellows import OFFSETS, ROLES, Temps, exotherm, scene

ROOM_K = 293.0
AWAY_S = 600.0


def after_silence(
    before_k: Sequence[float], after_k: Sequence[float], away_s: float = AWAY_S
) -> Replaced:
    """The first couple is away while the others go from what they showed to what they show."""
    replaced = Replaced((Role.PART, Role.PART, Role.MOULD)[: len(before_k)])
    replaced.take(0.0, before_k, ROOM_K)
    steps = round(away_s / 5.0)
    for number in range(1, steps + 1):
        share = number / steps
        others = [b + share * (a - b) for b, a in zip(before_k[1:], after_k[1:], strict=True)]
        replaced.take(5.0 * number, (None, *others), ROOM_K)
    replaced.take(away_s + 5.0, after_k, ROOM_K)
    return replaced


@pytest.mark.parametrize(
    ("before_k", "after_k", "suspected"),
    [
        ((293.0,), (293.4,), False),
        ((293.0,), (289.5,), True),
        ((293.0,), (296.0,), True),  # the kick, or another couple: nobody can tell
        ((303.0,), (303.2,), True),  # warm and alone: nobody can tell
        ((293.0, 293.2), (303.0, 303.1), False),  # it stands to its fellow as it did
        ((293.0, 293.2), (300.0, 303.1), True),
        ((303.0, 303.0), (303.0, 301.0), True),  # the fellow cooled, and it did not
    ],
)
def test_a_couple_is_suspected_where_it_comes_back_elsewhere(
    before_k: tuple[float, ...], after_k: tuple[float, ...], *, suspected: bool
) -> None:
    if len(before_k) == 1:  # alone on the part, beside a form that stays as it is
        replaced = Replaced((Role.PART, Role.MOULD))
        replaced.take(0.0, (*before_k, ROOM_K), ROOM_K)
        replaced.take(5.0, (None, ROOM_K), ROOM_K)
        replaced.take(AWAY_S, (*after_k, ROOM_K), ROOM_K)
    else:
        replaced = after_silence(before_k, after_k)
    assert replaced.suspects(0) is suspected
    assert not replaced.suspects(1)


def test_a_loose_plug_is_no_replacement() -> None:
    assert not after_silence((293.0, 293.0), (296.0, 293.0), SILENT_FOR_S - 10.0).suspects(0)


def test_an_hour_in_which_nobody_looked_replaces_nothing() -> None:
    replaced = Replaced((Role.PART, Role.PART))
    replaced.take(0.0, (293.0, 293.0), ROOM_K)
    replaced.take(300.0, (None, None), ROOM_K)
    replaced.take(3600.0, (296.0, 293.0), ROOM_K)
    assert not replaced.suspects(0)


@pytest.mark.parametrize(("off_k", "cleared"), [(0.3, True), (1.5, False)])
def test_it_is_trusted_again_once_it_stands_with_the_others_while_nothing_is_warm(
    off_k: float, *, cleared: bool
) -> None:
    replaced = after_silence((303.0, 303.0, 301.0), (305.0, 303.0, 302.0))
    assert replaced.suspects(0)
    for number in range(round(STANDS_FOR_S / 5.0) + 1):
        replaced.take(10000.0 + 5.0 * number, (293.2 + off_k, 293.2, 293.4), ROOM_K)
    assert replaced.suspects(0) is not cleared


def accused(shown: Sequence[Temps]) -> list[Accusation]:
    fellows = Fellows(ROLES)
    believed = [True] * len(ROLES)
    found: list[Accusation] = []
    for number, temps in enumerate(shown, start=1):
        for accusation in fellows.judge(5.0 * number, temps, scene(5.0 * number, believed)):
            believed[accusation.index] = False
            found.append(accusation)
    return found


def course() -> list[tuple[float, ...]]:
    """What healthy couples show, every five seconds: the form follows and ends up the warmer."""
    shown, form = [], 0.0
    for number in range(1, 2600):
        now_s = 5.0 * number
        rise = exotherm(now_s) if now_s < 7200.0 else 30.0 * math.exp(-(now_s - 7200.0) / 1200.0)
        form += 5.0 / 550.0 * (rise - form)
        true = (ROOM_K + rise, ROOM_K + 0.9 * rise, ROOM_K + form, ROOM_K)
        shown.append(tuple(t + o for t, o in zip(true, OFFSETS, strict=True)))
    return shown


def with_first(temps: tuple[float, ...], value: float | None) -> Temps:
    return (value, *temps[1:])


@pytest.mark.parametrize("off_k", [3.0, 2.0, -2.0])
def test_a_couple_replaced_over_the_peak_convicts_no_healthy_fellow_when_the_kick_fades(
    off_k: float,
) -> None:
    shown: list[Temps] = list(course())
    for number, temps in enumerate(course(), start=1):
        if 5.0 * number > 6000.0:
            shown[number - 1] = with_first(
                temps, None if 5.0 * number <= 6600.0 else temps[0] + off_k
            )
    assert [one for one in accused(shown) if one.index != 0] == []


@pytest.mark.parametrize(("k_per_h", "from_s"), [(1.0, 4500.0), (1.5, 4500.0), (2.0, 6000.0)])
def test_a_couple_that_drifts_through_the_kick_convicts_no_healthy_fellow(
    k_per_h: float, from_s: float
) -> None:
    shown = [
        with_first(temps, temps[0] + max(5.0 * number - from_s, 0.0) / 3600.0 * k_per_h)
        for number, temps in enumerate(course(), start=1)
    ]
    assert [one for one in accused(shown) if one.index != 0] == []


def test_the_healthy_course_accuses_nobody() -> None:
    assert accused(course()) == []
