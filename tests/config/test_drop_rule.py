from __future__ import annotations

import pytest

from firmware_host.config.drop_rule import drop_limit_pa_per_s
from firmware_host.config.schema import Bag


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        # NIST SP 811 (2008), B.8: 1 inHg (conventional) is 3 386.389 Pa.
        ("1 inHg in 5 min", 3386.389 / 300.0),
        ("10 mbar in 5 min", 1000.0 / 300.0),
        ("10mbar in 10min", 1000.0 / 600.0),
        ("3.3 Pa/s", 3.3),
        ("2 hPa / min", 200.0 / 60.0),
        (" 5 Torr in 0.5 h ", 5.0 * 101325.0 / 760.0 / 1800.0),
    ],
)
def test_a_rule_in_a_persons_words_is_a_rate(rule: str, expected: float) -> None:
    assert drop_limit_pa_per_s(rule) == pytest.approx(expected, rel=1e-6)


def test_the_default_limit_is_the_default_rule() -> None:
    assert Bag().drop_limit_pa_per_s == pytest.approx(drop_limit_pa_per_s(Bag().drop_rule))


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        ("", "must read like"),
        ("one inHg in 5 min", "must read like"),
        ("1 inHg", "must read like"),
        ("1 inHg in 5", "must read like"),
        ("-1 inHg in 5 min", "must read like"),
        ("1 psi in 5 min", 'has the unit "psi"; use one of Pa, hPa, kPa, mbar, inHg, Torr'),
        ("1 inHg in 5 mins", r'has the unit "mins"; use one of s, min, h\. Did you mean min\?'),
        ("0 Pa/s", "must allow some drop in some time"),
        ("1 Pa in 0 s", "must allow some drop in some time"),
    ],
)
def test_a_rule_that_says_no_rate_is_refused(rule: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        drop_limit_pa_per_s(rule)
