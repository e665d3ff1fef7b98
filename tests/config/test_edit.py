from __future__ import annotations

from datetime import date

import pytest

from firmware_host.config.edit import with_keys
from firmware_host.config.toml_text import parse

BENCH = """\
# North bench
[[channel]]
name = "bag"   # at the part
full_scale_pa = 100000.0 # from the sheet

[[channel]]
name = "pump"
"""


def test_a_value_is_replaced_and_its_comment_stays() -> None:
    new = with_keys(BENCH, "b", ("channel", 0), {"full_scale_pa": 99000.5})
    assert new == BENCH.replace("100000.0", "99000.5")


def test_a_new_key_follows_the_heading_of_its_own_table() -> None:
    new = with_keys(BENCH, "b", ("channel", 1), {"calibrated_on": date(2026, 5, 4)})
    assert new == BENCH.replace(
        '[[channel]]\nname = "pump"', '[[channel]]\ncalibrated_on = 2026-05-04\nname = "pump"'
    )


@pytest.mark.parametrize("text", ["", '[job]\npart = "x"\n', '[job]\npart = "x"'])
def test_a_table_that_is_not_there_is_added_at_the_end(text: str) -> None:
    new = with_keys(text, "j", ("bag",), {"free_volume_l": 2.5})
    assert new.startswith(text)
    assert parse(new, "j").values["bag"] == {"free_volume_l": 2.5}


def test_text_is_quoted_as_toml() -> None:
    new = with_keys("[dropper]\nname = 'old'\n", "j", ("dropper",), {"name": 'the "brown" one'})
    assert parse(new, "j").values == {"dropper": {"name": 'the "brown" one'}}
