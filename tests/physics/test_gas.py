"""Gas laws against published conversions and masses of real air."""

from __future__ import annotations

import pytest

from firmware_host.physics.gas import (
    leak_throughput_pa_m3_per_s,
    room_air_cm3_per_min,
)


def test_throughput_of_the_usual_drop_rule_agrees_with_real_air() -> None:
    # 3 L, 1 inHg (3386.389 Pa, NIST SP 811) in 300 s. The mass of real air that this is
    # (CoolProp densities at 15000 and 18386 Pa, 293.15 K) is worth 0.0338679 Pa m3/s.
    q = leak_throughput_pa_m3_per_s(3386.389 / 300.0, 0.003)
    assert q == pytest.approx(0.0338679, rel=5e-4)


def test_room_air_needs_a_room_pressure() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        room_air_cm3_per_min(0.03, 0.0)
