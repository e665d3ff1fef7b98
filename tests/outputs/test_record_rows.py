from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given

from firmware_host.model.channels import Channel, Role
from firmware_host.model.events import CureEstimated, Event
from firmware_host.model.samples import Frame, Mark, Reason
from firmware_host.outputs.record_rows import (
    REASON_LETTERS,
    FrameRows,
    StoredEvent,
    StoredInput,
    column_of,
    decode_event,
    encode_event,
    encode_other,
    row_check,
)
from tests.outputs.record_parts import BOARD, GROUPS, RAW, events, frame_at, frames_of

ROWS = FrameRows(0, BOARD)


@given(frames_of(0))
def test_a_frame_comes_back_equal(frame: Frame) -> None:
    back = ROWS.decode(ROWS.encode(7, frame, RAW, frame.time_s + 0.012))
    assert back == StoredInput(n=7, given=frame, raw=RAW, arrived_s=back.arrived_s)
    assert back.arrived_s == pytest.approx(frame.time_s + 0.012, abs=0.0006)


@given(events)
def test_an_event_comes_back_equal(event: Event) -> None:
    stored = decode_event(encode_event(3, 9, event))
    assert stored == StoredEvent(n=3, after_input=9, event=event)


def test_every_reason_has_a_letter_of_its_own() -> None:
    assert set(REASON_LETTERS) == set(Reason)
    assert len(set(REASON_LETTERS.values())) == len(Reason)


@pytest.mark.parametrize("value", [1000.05, 0.01, math.nan, math.inf, 1e300])
def test_a_reading_off_its_grid_is_refused_by_name(value: float) -> None:
    frame = frame_at(0)
    with pytest.raises(ValueError, match="bag = "):
        ROWS.encode(1, replace(frame, values=(value, *frame.values[1:])), None, None)


def test_a_time_between_two_milliseconds_is_refused() -> None:
    with pytest.raises(ValueError, match=r"time_s = 0\.0005 is not a whole number of 1/1000"):
        ROWS.encode(1, replace(frame_at(0), time_s=0.0005), None, None)


def test_a_frame_of_another_width_is_refused() -> None:
    with pytest.raises(ValueError, match="board has 1 values and 1 reasons; the group has 6"):
        ROWS.encode(1, Frame(0.0, 0, (1.0,), (None,)), None, None)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_without_a_word_in_json_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match=r"CureEstimated\.low = "):
        encode_event(1, 1, CureEstimated(time_s=1.0, conversion=0.5, low=value, high=0.6))
    with pytest.raises(ValueError, match=r"Mark\.heard_s = "):
        encode_other(1, Mark(0.0, "mixed", value))


def test_columns_say_their_unit() -> None:
    names = [column_of(channel) for group in GROUPS for channel in group.channels]
    assert names == ["bag_dpa", "pump_dpa", "part1_mk", "part2_mk", "mould_mk", "shop_mk", "cup_mk"]


def test_a_name_that_could_break_out_of_a_column_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot name a column"):
        column_of(Channel('bag"; DROP TABLE meta; --', Role.BAG))


def test_a_check_goes_on_from_the_row_before() -> None:
    row = (1, "mark", "{}")
    assert row_check("input", row, 5) != row_check("input", row, 6)
    assert row_check("input", row) != row_check("event", row)
    assert -(2**31) <= row_check("input", row) < 2**31


def test_the_check_is_crc_32_of_the_messagepack_of_the_row() -> None:
    # array of 4: str "input", int 1, str "tick", str "{}" (msgpack specification), laid out by
    # hand; the CRC is the one of any CRC-32/ISO-HDLC calculator, here by binascii.
    import binascii

    packed = b"\x94\xa5input\x01\xa4tick\xa2{}"
    assert row_check("input", (1, "tick", "{}")) & 0xFFFFFFFF == binascii.crc32(packed)
