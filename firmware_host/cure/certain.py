"""How hot laminate and mould surely get within minutes: what nearly all living batches agree on.

Pure. The members start from the temperatures that were measured, each with what its couple hides,
and go on by their own heat. What all but one in fifty of them pass is certain, as far as a bank of
laws that are only nearly right can tell: it is told a kelvin lower.
"""

from __future__ import annotations

import numpy as np

from firmware_host.cure.filter import CureFilter
from firmware_host.cure.foresee import Standing, drawn, run_ahead
from firmware_host.cure.heat import Nodes
from firmware_host.cure.known import Temperatures

STEP_S = 15.0
UNSURE_SHARE, UNSURE_K = 0.02, 1.0


def surely_comes_to_k(batches: CureFilter, temps: Temperatures, within_s: float) -> float | None:
    """Give the temperature in K that laminate or mould surely show within a span (s).

    None where no couple on the laminate or in the shop is believed, where the laminate's zero is
    unknown, or a lamp is on: then nothing is certain.
    """
    if temps.heated or temps.stand_in_sd_k + temps.shop_sd_k + temps.zero_sd_k > 0.0:
        return None
    some = drawn(batches.standing(), batches.weights())
    bead, shop_k = some.bank.bead, temps.shop_k
    laminate_k = shop_k + (temps.laminate_k - shop_k) / bead
    mould_k = some.nodes.mould_k if temps.mould_k is None else np.full_like(bead, temps.mould_k)
    start = Standing(some.bank, some.part, Nodes(laminate_k, mould_k, some.nodes.cup_k))
    ahead = run_ahead(start, shop_k, within_s, STEP_S)
    shown_k = shop_k + bead * (ahead.laminate_k - shop_k)
    top_k = np.maximum(np.max(shown_k, axis=0), np.max(ahead.mould_k, axis=0))
    return float(np.quantile(top_k, UNSURE_SHARE)) - UNSURE_K
