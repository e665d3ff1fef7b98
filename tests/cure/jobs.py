"""Jobs that the tests of the cure share."""

from __future__ import annotations

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription

POLYESTER = """
[job]
part = "kayak hatch cover"
initiator_percent = {percent}
[resin]
family = "polyester"
initiator_reference_percent = 1.5
induction_min_at_25c = 36.0
induction_activation_kj_per_mol = 52.0
induction_initiator_exponent = 0.8
rate_at_25c_per_s = 1.0e-3
rate_activation_kj_per_mol = 46.0
rate_initiator_exponent = 0.48
seed_fraction = 0.03
gel_conversion = 0.05
heat_of_cure_kj_per_kg = 360.0
[laminate]
thickness_mm = 4.0
resin_mass_fraction = 0.58
density_kg_per_m3 = 1650.0
loss_top_w_per_m2k = 9.0
loss_back_w_per_m2k = 6.0
mould_heat_kj_per_m2k = 16.0
"""
EPOXY = """
[job]
part = "drone belly fairing"
[resin]
family = "epoxy"
hardener_parts_per_100 = 30.0
[laminate]
thickness_mm = 3.0
"""


def job_of(text: str = "", *, percent: float = 1.5) -> JobDescription:
    """Read a job: a whole text, or tables to add to the polyester's."""
    whole = text if "[job]" in text else POLYESTER.format(percent=percent) + text
    return parse_job(whole, "job.toml")
