"""What is called certain comes true, and is called before it does.

The parts are of published kinds that the bank does not hold, eight millimetres thick, solved by
scipy; the couples show them whole.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firmware_host.config.schema import JobDescription
from firmware_host.cure.certain import surely_comes_to_k
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.known import Temperatures
from tests.cure.jobs import job_of
from tests.cure.unlike import run
from tests.cure.unlike_jobs import nominal

pytestmark = pytest.mark.campaign

EVERY_S, SOON_S = 20.0, 300.0
THICK_MM = 8.0


@pytest.mark.parametrize("law", ["trapped", "kamal"])
def test_a_temperature_that_is_called_certain_comes_within_five_minutes(law: str) -> None:
    course = run(replace(nominal(law), thickness_mm=THICK_MM), 9000.0, EVERY_S)
    hottest_k = np.maximum(course.laminate_k, course.mould_k)
    warm = int(np.argmax(hottest_k - course.shop_k > 3.0))
    cure = CureFilter(thick(), 0.0, _shown(course.laminate_k[0], course.mould_k[0], 0.0))
    ahead_s = []
    for number in range(1, int(np.argmax(hottest_k))):
        at_s = number * EVERY_S
        now = _shown(course.laminate_k[number], course.mould_k[number], at_s)
        cure.advance(now)
        if number < warm:
            continue
        sure_k = surely_comes_to_k(cure, now, SOON_S)
        assert sure_k is not None
        comes = hottest_k[number : number + int(SOON_S / EVERY_S) + 1]
        assert sure_k <= np.max(comes)
        if sure_k > hottest_k[number]:
            ahead_s.append(EVERY_S * float(np.argmax(comes > sure_k)))
    assert len(ahead_s) > 5
    assert max(ahead_s) > 100.0


def test_nothing_is_certain_under_a_lamp_or_without_a_couple() -> None:
    start = _shown(294.15, 294.15, 0.0)
    cure = CureFilter(thick(), 0.0, start)
    assert surely_comes_to_k(cure, replace(start, heated=True), SOON_S) is None
    assert surely_comes_to_k(cure, replace(start, shop_sd_k=0.5), SOON_S) is None
    assert surely_comes_to_k(cure, replace(start, stand_in_sd_k=1.0), SOON_S) is None


def thick() -> JobDescription:
    job = job_of()
    return replace(job, laminate=replace(job.laminate, thickness_mm=THICK_MM))


def _shown(laminate_k: float, mould_k: float, at_s: float) -> Temperatures:
    return Temperatures(
        time_s=at_s,
        laminate_k=float(laminate_k),
        stand_in_sd_k=0.0,
        mould_k=float(mould_k),
        shop_k=294.15,
        cup_k=None,
        heated=False,
    )
