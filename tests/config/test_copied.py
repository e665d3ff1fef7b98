"""A past job's text as a new one's start."""

from __future__ import annotations

from firmware_host.config.copied import copied
from firmware_host.config.load import parse_job
from tests.commands.pours import hatch

ASIDE = '[[overrides]]\nname = "form_cold"\nreason = "it was the last warm day"\n'


def test_temperatures_overrides_and_weights_of_that_day_become_comments() -> None:
    text = hatch() + ASIDE + "[weighed]\ndry_g = 1.0\npart_g = 2.0\n"
    before, after = parse_job(text, "a"), parse_job(copied(text), "b")
    assert (before.conditions.shop_c, after.conditions.shop_c) == (19.0, None)
    assert (len(before.overrides), len(after.overrides)) == (1, 0)
    assert (after.weighed, after.dropper, after.plies) == (None, before.dropper, before.plies)
    assert "# shop_c = 19.0" in copied(text)


def test_a_text_without_them_stays_to_the_letter_and_a_copy_of_a_copy_too() -> None:
    text = '[job]\r\npart = "x" # [conditions]\r\n'
    assert copied(text) == text
    assert copied(copied(hatch())) == copied(hatch())
