from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from firmware_host.outputs.raw_words import pack_words, unpack_words

_word = st.one_of(
    st.integers(-(2**33), 2**33).map(str),
    st.integers(0, 2**32 - 1).map(lambda word: f"{word:08X}"),
    st.binary(min_size=30, max_size=30).map(lambda word: word.hex().upper()),
    st.just("-"),
    st.integers(0, 300).map(lambda number: f"!{number}"),
)


@given(st.lists(_word, min_size=1, max_size=40).map(",".join))
def test_raws_come_back_letter_for_letter(text: str) -> None:
    assert unpack_words(pack_words(text)) == text


@given(st.text(alphabet="0123456789ABCDEFabcdef,-!+ ", max_size=60))
@example("")
@example("-0")
@example("007")
@example("!07")
@example("0190190a")
@example(",".join("-" * 256))
def test_any_text_comes_back_letter_for_letter(text: str) -> None:
    assert unpack_words(pack_words(text)) == text


def test_the_bits_of_a_chip_are_legible_in_the_packed_word() -> None:
    packed = pack_words("32768,01901900,00010001")
    assert isinstance(packed, bytes)
    assert packed.hex().upper() == "03388000800001901900" + "00010001"


def test_a_barometers_long_word_is_packed_and_so_are_its_neighbours() -> None:
    long = "0F" * 30
    packed = pack_words(f"123,{long},01901900")
    assert isinstance(packed, bytes)
    assert len(packed) == 1 + 2 + 1 + 30 + 4


@pytest.mark.parametrize(
    ("stored", "said"),
    [
        (b"", "empty"),
        (b"\x01", "end early"),
        (b"\x01\x80\x01", "end early"),
        (b"\x01\x70", "unknown tag 7"),
        (b"\x01\x10\x05\x06", "4 bytes where 3"),
    ],
)
def test_bytes_that_nobody_packed_are_refused(stored: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        unpack_words(stored)
