"""The bench's shells give the rises that two-node arithmetic gave elsewhere for the same batch.

K over the room and minutes from mixing to the peak, by a second program at 1e-9 (design figures of
a preset, half a kelvin and a minute and a half wide; no measured part).
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.cure.shells import courses, middle

PEAKS = [(1.5, 15, 5, 121), (2, 20, 9, 85), (3, 15, 12, 116), (3, 20, 15, 81), (4, 28, 30, 44)]


@pytest.mark.parametrize(("thickness_mm", "shop_c", "rise_k", "peak_min"), PEAKS)
def test_a_shell_peaks_as_high_and_as_late_as_reckoned(
    thickness_mm: float, shop_c: float, rise_k: float, peak_min: float
) -> None:
    went = courses(middle(thickness_mm, 273.15 + shop_c), 9000.0, 30.0)
    rise = went.laminate_k[:, 0] - went.shop_k[:, 0]
    assert float(np.max(rise)) == pytest.approx(rise_k, abs=0.55)
    assert went.time_s[np.argmax(rise)] / 60.0 == pytest.approx(peak_min, abs=1.5)
