"""Job files of the pours that the tests plan; invented, like every demo."""

from __future__ import annotations

HATCH = """
[job]
part = "kayak hatch cover"
work_time_min = 14.0
initiator_percent = {percent}
[resin]
family = "polyester"
[conditions]
shop_c = {shop}
resin_c = {resin}
form_c = {form}
station_pressure_hpa = 1009.0
[[plies]]
area_m2 = 0.19
areal_weight_g_per_m2 = 200.0
count = 4
[target]
resin_mass_fraction = 0.50
lap_fraction = 0.10
loss_fraction = 0.15
[sheet]
gel_min = 35.0
gel_at_c = 20.0
gel_at_percent = 1.5
[dropper]
name = "{dropper}"
drops_weighed = 20
weighed_g = {weighed}
"""

FAIRING = """
[job]
part = "drone belly fairing"
work_time_min = 21.0
initiator_percent = 1.0
[resin]
family = "polyester"
[conditions]
shop_c = {temp}
resin_c = {temp}
form_c = {temp}
station_pressure_hpa = 1012.0
[[plies]]
area_m2 = 0.12
areal_weight_g_per_m2 = 160.0
count = 3
[form]
shell_to_cup_ratio = 1.35
[[cup_tests]]
gel_min = {cup}
at_c = {temp}
{more}
"""


def hatch(
    *,
    percent: float = 1.5,
    air: tuple[float, float, float] = (19.0, 19.0, 18.0),
    dropper: str = "bottle A",
    weighed: float = 1.10,
) -> str:
    """Four plies on a small hatch cover; `air` is shop, resin and form in degC."""
    shop, resin, form = air
    return HATCH.format(
        percent=percent, shop=shop, resin=resin, form=form, dropper=dropper, weighed=weighed
    )


def fairing(*, temp: float, cup: float, more: str = "") -> str:
    """Three plies on a drone's belly, the can known by one cup."""
    return FAIRING.format(temp=temp, cup=cup, more=more)
