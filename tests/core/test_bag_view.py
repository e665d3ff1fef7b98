"""What the core shows of leak, pump and depth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.bag_view import bag_view, room_pa_of
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.samples import Frame, Group, Mark
from firmware_host.model.snapshot import BagView

JOB = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n[bag]\nfree_volume_l = 3.0\n'
BAG_PA = 4_000.0


def shown(more: str = "", part_c: float = 25.0, lowest_pa: float | None = None) -> BagView:
    """A minute of a pumped bag."""
    channels = (
        replace(channel_named("bag"), lowest_pa=lowest_pa),
        *map(channel_named, ("part1", "mould", "shop")),
    )
    monitor = Monitor(parse_job(JOB + more, "job.toml"), (Group("board", channels, 1.0),))
    monitor.step(Mark(0.5, "mixed", 0.5))
    monitor.step(Mark(0.6, "pump_on", 0.6))
    for second in range(1, 61):
        temps = (273.15 + part_c + 0.01 * (second % 3), 303.15, 293.15)
        bag_pa = BAG_PA + (second % 2)
        monitor.step(Frame(float(second), 0, (bag_pa, *temps), (None,) * 4))
    return bag_view(monitor)


def test_the_exotherm_and_not_the_cold_hold_is_too_deep() -> None:
    cold, hot = shown(), shown(part_c=70.0)
    assert cold.deepest_why == hot.deepest_why == "styrene"
    assert cold.depth_margin_pa is not None
    assert hot.depth_margin_pa is not None
    assert hot.depth_margin_pa < 0.0 < cold.depth_margin_pa
    assert cold.deepest_wise_pa == pytest.approx(1_251.0, rel=0.01)


def test_a_damp_form_is_judged_at_its_own_warmth() -> None:
    damp = shown("[form]\ndamp = true\n")
    # 1.5 times the vapour pressure of water at the mould's 30 C: 4246.971 Pa (IAPWS-95).
    assert damp.deepest_why == "water"
    assert damp.deepest_wise_pa == damp.water_bound_pa == pytest.approx(6_370.0, rel=5e-3)


def test_the_gauge_the_foam_and_the_pump_bound_it_too() -> None:
    assert shown(lowest_pa=15_000.0).deepest_why == "gauge"
    foam = shown("[form]\ncrush_kpa = 104.0\n[conditions]\nstation_pressure_hpa = 1000.0\n")
    assert foam.deepest_why == "form"
    assert foam.deepest_wise_pa == pytest.approx(48_000.0)
    weak = shown("[pump]\nultimate_mbar = 30.0\n")
    assert (weak.deepest_why, weak.possible_pa) == ("pump", 3_000.0)


@pytest.mark.parametrize(
    ("conditions", "room_pa"),
    [
        ("", None),
        ("altitude_m = 1000.0\n", 89_874.6),
        ("altitude_m = 1000.0\nstation_pressure_hpa = 905.0\n", 90_500.0),
    ],
)
def test_the_room_is_typed_or_that_of_the_altitude(conditions: str, room_pa: float | None) -> None:
    job = parse_job(f"{JOB}[conditions]\n{conditions}", "job.toml")
    found = room_pa_of(Monitor(job, (Group("board", (channel_named("bag"),), 1.0),)))
    assert found == (None if room_pa is None else pytest.approx(room_pa, abs=0.1))
