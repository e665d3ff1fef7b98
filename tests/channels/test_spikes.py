"""The gate against single wild readings."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.channels.noise import NoiseScale
from firmware_host.channels.spikes import SpikeGate
from firmware_host.core.channel_watch import ChannelWatch
from firmware_host.model.channels import channel_named


class Channel:
    def __init__(self, least_jump: float = 100.0) -> None:
        self.noise = NoiseScale(1.0)
        self.gate = SpikeGate(least_jump)
        self.believed: list[tuple[float, float]] = []

    def hear(self, values: np.ndarray, start_s: float = 0.0) -> None:
        for number, value in enumerate(values):
            self.noise.take(float(value))
            self.believed += self.gate.take(start_s + number, float(value), self.noise)


def test_a_spike_is_thrown_away_and_everything_else_is_kept() -> None:
    channel = Channel()
    values = np.random.default_rng(1).normal(size=200) * 5.0 + 2000.0
    values[100] = 50000.0
    channel.hear(values)
    assert channel.gate.spikes == 1
    assert [value for _, value in channel.believed] == [v for v in values if v < 10000.0]


def test_a_step_is_believed_one_reading_later_with_both_readings() -> None:
    channel = Channel()
    channel.hear(np.full(50, 2000.0))
    assert channel.gate.take(50.0, 9000.0, channel.noise) == ()
    assert channel.gate.take(51.0, 9100.0, channel.noise) == ((50.0, 9000.0), (51.0, 9100.0))
    assert channel.gate.spikes == 0


def test_a_pump_down_in_great_strides_is_no_string_of_spikes() -> None:
    channel = Channel()
    channel.hear(np.full(60, 101325.0))
    channel.hear(101325.0 * np.exp(-np.arange(40) / 5.0), 60.0)
    assert channel.gate.spikes == 0
    assert channel.believed[-1][0] == 99.0


def test_a_cycling_pump_is_no_string_of_spikes() -> None:
    channel = Channel()
    saw = np.concatenate([np.linspace(4000.0, 8000.0, 60), [4200.0]] * 10)
    channel.hear(saw)
    assert channel.gate.spikes == 0


@pytest.mark.parametrize("period_s", [6.0, 10.0, 13.7, 20.0])
@pytest.mark.parametrize("every_s", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("height_pa", [4000.0, 10_000.0])
def test_a_pump_that_starts_every_few_seconds_is_no_fault(
    period_s: float, every_s: float, height_pa: float
) -> None:
    # A bag that leaks fast: up in a straight line, drawn down within two seconds, for half an hour.
    rng = np.random.default_rng(1)
    watch = ChannelWatch(channel_named("pump"), 0.0)
    for number in range(int(1800.0 / every_s)):
        now_s = number * every_s
        phase_s = (now_s + 0.13) % period_s if now_s > 300.0 else None
        rise = 0.0
        if phase_s is not None:
            up = (phase_s - 2.0) / (period_s - 2.0)
            rise = up if up > 0.0 else math.exp(-2.0 * phase_s)
        shown_pa = round((4000.0 + height_pa * rise + 18.0 * rng.normal()) / 26.9) * 26.9
        watch.take(now_s, shown_pa, None)
        assert watch.look(now_s, every_s) is None


def test_spikes_make_a_spell_only_when_they_come_thickly() -> None:
    rng = np.random.default_rng(4)
    rare, thick = Channel(), Channel()
    values = rng.normal(size=2000) * 5.0 + 2000.0
    values[100::500] = 9000.0
    rare.hear(values)
    assert rare.gate.spell_since(2000.0) is None
    values[100::40] = 9000.0
    thick.hear(values)
    assert thick.gate.spell_since(2000.0) is not None


def test_noise_that_grows_is_no_spell_of_spikes() -> None:
    rng = np.random.default_rng(6)
    channel = Channel(least_jump=20.0)
    channel.hear(rng.normal(size=300) * 5.0)
    channel.hear(rng.normal(size=600) * 50.0, 300.0)
    assert channel.gate.spell_since(900.0) is None


def test_two_hundred_wild_readings_shift_nothing() -> None:
    rng = np.random.default_rng(8)
    channel = Channel()
    values = rng.normal(size=20000) * 5.0 + 2000.0
    where = np.arange(100, 20000, 97)
    values[where] += rng.choice([-1.0, 1.0], len(where)) * rng.uniform(500.0, 5e4, len(where))
    channel.hear(values)
    mean = float(np.mean([value for _, value in channel.believed]))
    assert abs(mean - 2000.0) < 0.5
