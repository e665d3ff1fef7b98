"""Text that cannot steer a terminal."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.plain import cleaned, cut, padded, plain, width, wrapped
from firmware_host.model.events import Phase
from tests.dashboard.parts import SNAPSHOT, snapshot


@pytest.mark.parametrize(
    ("hostile", "left"),
    [
        ("\x1b]52;c;ZXZpbA==\x07hatch", "]52;c;ZXZpbA==hatch"),
        ("\x9b31mhatch", "31mhatch"),
        ("hat\u202ech", "hatch"),
        ("ha\u200btch\ufeff", "hatch"),
        ("a\nb\tc\u2028d", "a b c d"),
        ("[/b] [red]part", "[/b] [red]part"),
        ("\ud800lone", "lone"),
        ("\u3164\ufe0fx", "x"),
    ],
)
def test_what_could_steer_or_hide_is_gone_and_the_rest_stays(hostile: str, left: str) -> None:
    assert plain(hostile) == left


@given(st.text())
def test_nothing_plain_is_a_control_or_a_format_character(text: str) -> None:
    assert all(unicodedata.category(c)[0] != "C" for c in plain(text))


@given(st.text())
def test_ascii_only_leaves_printable_seven_bit_characters(text: str) -> None:
    assert all(" " <= c <= "~" for c in plain(text, ascii_only=True))


@given(st.text(), st.integers(0, 40))
def test_a_padded_text_takes_exactly_its_place(text: str, cells: int) -> None:
    assert width(padded(plain(text), cells)) == cells


@given(st.text(max_size=200), st.integers(4, 40), st.integers(1, 4))
def test_a_wrapped_text_stays_in_its_place(text: str, cells: int, lines: int) -> None:
    broken = wrapped(plain(text), cells, lines)
    assert 1 <= len(broken) <= lines
    assert all(width(row) <= cells for row in broken)


def test_a_text_that_fits_is_not_cut_and_one_cell_more_is() -> None:
    assert cut("hatch", 5) == "hatch"
    assert cut("hatchs", 5) == "hat.."


def test_a_wide_letter_counts_two_cells() -> None:
    assert width("\u8239") == 2
    assert cut("\u8239\u8239\u8239", 5) == "\u8239.."


def test_every_text_of_a_snapshot_is_made_plain_and_nothing_else_changes() -> None:
    dirty = snapshot(drop_rule="1 \x1binHg")
    assert cleaned(dirty) == snapshot(drop_rule="1 inHg")
    assert cleaned(SNAPSHOT) == SNAPSHOT
    assert type(cleaned(SNAPSHOT).view.phase) is Phase
