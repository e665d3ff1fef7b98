"""A couple on the form beside a laminate that warms: sound on heavy plaster, found where it is off.

The plant is the heat balance of a form between laminate and shop, stepped by Euler each second.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from firmware_host.channels.fellows import Fellows
from firmware_host.channels.form import SLOWEST, Follower, FormHeat
from firmware_host.channels.scene import Accusation, Scene
from firmware_host.config.load import parse_job
from firmware_host.core.monitor import form_of
from firmware_host.model.channels import Role
from tests.channels.bench import JOB

ROLES = (Role.PART, Role.PART, Role.MOULD, Role.SHOP)
ROOM_K = 294.0
UNTIL_S = 12_000
Show = Callable[[float, float, float], float]
"""Time, true temperature of the form and the shop's in; what the form's couple shows out."""


@dataclass(frozen=True, kw_only=True)
class Plant:
    """A form, what it begins at over the room, and how the room swings."""

    heat_j_per_m2k: float
    contact_w_per_m2k: float
    loss_w_per_m2k: float = 7.0
    begins_k: float = 0.0
    swing_k: float = 0.6
    swing_s: float = 900.0
    peak_k: float = 12.0

    def shop_k(self, at_s: float) -> float:
        return ROOM_K + self.swing_k * math.sin(2.0 * math.pi * at_s / self.swing_s)

    def laminate_k(self, at_s: float, form_k: float) -> float:
        """A bell of heat on what lies between form and shop."""
        rest_k = (9.0 * self.shop_k(at_s) + self.contact_w_per_m2k * form_k) / (
            9.0 + self.contact_w_per_m2k
        )
        width_s = 700.0 if at_s < 5_000.0 else 2_000.0
        return rest_k + self.peak_k * math.exp(-(((at_s - 5_000.0) / width_s) ** 2))

    def accused(
        self, show: Show, form: FormHeat = SLOWEST, one_code_from_s: float = UNTIL_S
    ) -> list[Accusation]:
        """Let the couples judge each other over the whole job."""
        fellows, believed = Fellows(ROLES, form), [True] * 4
        found: list[Accusation] = []
        mould_k = ROOM_K + self.begins_k
        for at_s in range(1, UNTIL_S):
            shop_k, laminate_k = self.shop_k(at_s), self.laminate_k(at_s, mould_k)
            mould_k += (
                self.contact_w_per_m2k * (laminate_k - mould_k)
                - self.loss_w_per_m2k * (mould_k - shop_k)
            ) / self.heat_j_per_m2k
            if at_s % 5:
                continue
            part2_k = shop_k + 0.9 * (laminate_k - shop_k)
            temps_k = (laminate_k, part2_k, show(at_s, mould_k, shop_k), shop_k)
            scene = Scene(
                believed=believed,
                noisy=[False] * 4,
                runs_since_s=[at_s, at_s, min(at_s, one_code_from_s), at_s],
                heated=False,
                wet=at_s > 600,
                handled=False,
            )
            for one in fellows.judge(float(at_s), temps_k, scene):
                believed[one.index] = False
                found.append(one)
        return found


def sound(at_s: float, mould_k: float, shop_k: float) -> float:
    del at_s, shop_k
    return mould_k


def hangs_in_the_air(at_s: float, mould_k: float, shop_k: float) -> float:
    return mould_k if at_s < 1_500.0 else shop_k + 0.1


PLASTER = Plant(heat_j_per_m2k=46e3, contact_w_per_m2k=32.0)
GLASS = Plant(heat_j_per_m2k=15e3, contact_w_per_m2k=100.0)
STATED_GLASS = FormHeat(heat_j_per_m2k=16e3, contact_w_per_m2k=110.0, loss_back_w_per_m2k=6.0)


@pytest.mark.parametrize("swing_s", [900.0, 1500.0, 2300.0])
@pytest.mark.parametrize("begins_k", [-1.0, 0.0, 1.5])
def test_a_sound_couple_on_heavy_plaster_is_believed(swing_s: float, begins_k: float) -> None:
    plant = Plant(heat_j_per_m2k=46e3, contact_w_per_m2k=32.0, begins_k=begins_k, swing_s=swing_s)
    assert plant.accused(sound) == []


def test_a_sound_couple_on_thin_glass_is_believed_whatever_form_was_named() -> None:
    for form in (SLOWEST, STATED_GLASS):
        assert GLASS.accused(sound, form) == []


@pytest.mark.parametrize(
    ("plant", "form", "by_s"),
    [(PLASTER, SLOWEST, 4_900.0), (GLASS, SLOWEST, 4_900.0), (GLASS, STATED_GLASS, 4_500.0)],
    ids=["plaster", "glass unnamed", "glass"],
)
def test_a_couple_that_hangs_in_the_air_is_named_while_the_laminate_warms(
    plant: Plant, form: FormHeat, by_s: float
) -> None:
    (found,) = plant.accused(hangs_in_the_air, form)
    assert (found.index, found.kind) == (2, "fallen_off")
    assert 3_500.0 < found.since_s < by_s


def test_a_forms_couple_that_repeats_one_code_is_stuck() -> None:
    def stuck(at_s: float, mould_k: float, shop_k: float) -> float:
        del shop_k
        return mould_k if at_s < 1_500.0 else ROOM_K

    for plant, form in ((PLASTER, SLOWEST), (GLASS, STATED_GLASS)):
        (found,) = plant.accused(stuck, form, one_code_from_s=1_500.0)
        assert (found.index, found.kind) == (2, "stuck")


def test_a_form_follows_a_step_as_its_time_constant_says() -> None:
    form = FormHeat(heat_j_per_m2k=40e3, contact_w_per_m2k=40.0, loss_back_w_per_m2k=0.0)
    follower = Follower(form)
    follower.take(0.0, ROOM_K, ROOM_K)
    follower.anchor(ROOM_K)
    follower.take(5.0, ROOM_K + 10.0, ROOM_K)
    for block in range(2, 202):
        follower.take(5.0 * block, ROOM_K + 10.0, ROOM_K)
    # 1000 s, one C / h: 1 - 1/e of the step.
    assert follower.temp_k == pytest.approx(ROOM_K + 10.0 * (1.0 - math.exp(-1.0)))


def test_the_job_files_form_counts_and_what_it_leaves_out_is_slow() -> None:
    assert form_of(parse_job(JOB, "job.toml")) == SLOWEST
    text = f"{JOB}[laminate]\nmould_heat_kj_per_m2k = 16.0\ncontact_w_per_m2k = 110.0\n"
    assert form_of(parse_job(text, "job.toml")) == STATED_GLASS
