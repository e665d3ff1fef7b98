"""Benches for the system tests, as texts of scenario files. Our own: a drone fairing."""

from __future__ import annotations

HEAD = """\
[scenario]
name = "{name}"
seed = {seed}
about = "A drone fairing in a warm shop."
length_s = {length_s}
job = "job"
[plant.shop]
temperature_c = 27.0
"""


def event(at_s: float, do: str, rest: str = "") -> str:
    """Something happens on the bench."""
    return f'[[event]]\nat_s = {at_s}\ndo = "{do}"\n{rest}\n'


def mark(at_s: float, name: str) -> str:
    """The person says something."""
    return f'[[mark]]\nat_s = {at_s}\nname = "{name}"\n'


def step(at_s: float, name: str, do: str | None = None, late_s: float = 3.0) -> str:
    """Something happens and is said a little later."""
    return event(at_s, do or name) + mark(at_s + late_s, name)


def whole_job() -> str:
    """From pour to demoulding, with a drop test on the wet bag."""
    return "".join(
        [
            HEAD.format(name="whole-job", seed=4711, length_s=5900.0),
            step(60.0, "mixed", "mix"),
            step(600.0, "bag_closed"),
            step(640.0, "pump_on"),
            step(1000.0, "valve_shut"),
            step(1300.0, "valve_open"),
            mark(2700.0, "gel_seen"),
            event(5500.0, "pump_off"),
            step(5505.0, "vacuum_released", "release"),
            mark(5700.0, "demoulded"),
        ]
    )


def leaking_job() -> str:
    """A leak opens at 900 s that the pump cannot hold: vacuum is lost."""
    return "".join(
        [
            HEAD.format(name="leaking-job", seed=4712, length_s=20000.0),
            step(60.0, "mixed", "mix"),
            step(300.0, "bag_closed"),
            step(320.0, "pump_on"),
            event(900.0, "leak_opens", "pa_per_s = 30000.0"),
        ]
    )


def quick_bag(length_s: float, *rest: str) -> str:
    """A bag so small that a strong pump has it down within a second or two of real time."""
    return "".join(
        [
            HEAD.format(name="quick-bag", seed=4713, length_s=length_s),
            "[plant.bag]\nfree_volume_l = 0.02\nlifted_share = 0.0\nhose_bore_mm = 20.0\n"
            "hose_length_m = 0.3\n",
            "[plant.pump]\nspeed_m3_per_h = 60.0\nside_volume_l = 0.02\n",
            "[sensors]\nmissed_share = 0.0\n",
            step(0.2, "mixed", "mix", 0.1),
            step(0.4, "bag_closed", late_s=0.1),
            step(0.5, "pump_on", late_s=0.1),
            *rest,
        ]
    )
