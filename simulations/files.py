"""The two files that belong to a scenario: the job description and the bench file.

The job description is nominal, as a person would write it from the data sheet; the scenario's
plant is the true batch and differs from it.
"""

from __future__ import annotations

from pathlib import Path

from firmware_host.model.channels import Quantity, channel_named
from simulations.scenario import Scenario
from simulations.sensors import PLACES

VOLTS_PER_COUNT = 187.5e-6
"""A 16-bit converter set to +-6.144 V."""
ZERO_FRACTION = 0.10
SPAN_FRACTION = 0.80
FULL_SCALE_PA = 100000.0
SUPPLY_INDEX = len(PLACES)
"""The supply's own raw follows the channels."""


def job_toml(scenario: Scenario) -> str:
    """Text of the scenario's job description."""
    path = scenario.folder / "jobs" / f"{scenario.head.job}.toml"
    return path.read_text(encoding="utf-8")


def bench_toml(
    scenario: Scenario, device: Path, folder: Path, socket: Path, period_s: float = 0.5
) -> str:
    """Text of a bench file for the simulated board at `device`."""
    head = [
        f"# The simulated bench of the scenario {scenario.head.name}.",
        "[bench]",
        'name = "simulated-bench"',
        f"period_s = {period_s}",
        "",
        "[[port]]",
        'name = "board"',
        'kind = "bv1"',
        f"device = {_quoted(device)}",
        "",
    ]
    channels = [line for index, name in enumerate(PLACES) for line in _channel(index, name)]
    tail = ["[socket]", f"path = {_quoted(socket)}", "", "[record]", f"folder = {_quoted(folder)}"]
    return "\n".join([*head, *channels, *tail]) + "\n"


def _channel(index: int, name: str) -> list[str]:
    lines = ["[[channel]]", f'name = "{name}"', 'port = "board"', f"index = {index}"]
    if channel_named(name).role.quantity is Quantity.TEMPERATURE:
        return [*lines, 'kind = "tc31855"', 'couple = "K"', ""]
    return [
        *lines,
        'kind = "adc16s"',
        'reference = "absolute"',
        f"volts_per_count = {VOLTS_PER_COUNT}",
        f"supply_index = {SUPPLY_INDEX}",
        f"zero_fraction = {ZERO_FRACTION}",
        f"span_fraction = {SPAN_FRACTION}",
        f"full_scale_pa = {FULL_SCALE_PA}",
        "",
    ]


def _quoted(path: Path) -> str:
    """Write a path as a TOML basic string."""
    text = str(path).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{text}"'
