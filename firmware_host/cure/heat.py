"""Heat balance of laminate, mould and cup: what each batch of the bank would warm them to.

    C_l dT_l/dt = q - U_top (T_l - T_shop) - h (T_l - T_m)
    C_m dT_m/dt = h (T_l - T_m) - U_back (T_m - T_shop)
    C_c dT_c/dt = q_c - U_c (T_c - T_shop)

Two nodes, because the mould takes half of the heat. Stepped implicitly: stable at any step, and
exact where it matters, in the slow balance; the fast exchange between the nodes (about a minute)
is only followed, never judged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.cure.population import Population

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Nodes:
    """Temperatures in K that each member would show."""

    laminate_k: Array
    mould_k: Array
    cup_k: Array


def at_temperature(laminate_k: float, mould_k: float, cup_k: float, members: int) -> Nodes:
    """Every member starts where the couples are."""
    return Nodes(np.full(members, laminate_k), np.full(members, mould_k), np.full(members, cup_k))


def warm(
    bank: Population,
    nodes: Nodes,
    shop_k: Array | float,
    conversion_gain: Array,
    cup_gain: Array,
    span_s: float,
) -> Nodes:
    """Move the nodes through a span in which each member gained this much conversion."""
    store_l = bank.laminate_j_per_m2k / span_s
    store_m = bank.mould_j_per_m2k / span_s
    h = bank.contact_w_per_m2k
    source = bank.heat_j_per_m2 * conversion_gain / span_s
    a = store_l + bank.loss_top_w_per_m2k + h
    d = store_m + bank.loss_back_w_per_m2k + h
    b_l = store_l * nodes.laminate_k + source + bank.loss_top_w_per_m2k * shop_k
    b_m = store_m * nodes.mould_k + bank.loss_back_w_per_m2k * shop_k
    determinant = a * d - h * h
    store_c = bank.cup_j_per_k / span_s
    cup = (
        store_c * nodes.cup_k + bank.cup_heat_j * cup_gain / span_s + bank.cup_loss_w_per_k * shop_k
    ) / (store_c + bank.cup_loss_w_per_k)
    return Nodes((b_l * d + h * b_m) / determinant, (b_m * a + h * b_l) / determinant, cup)
