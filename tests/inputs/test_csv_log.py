from __future__ import annotations

import itertools
import math
import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.errors import InputError
from firmware_host.inputs.csv_log import GapRule, open_log
from firmware_host.model.channels import Channel, Role
from firmware_host.model.samples import MARKS, Frame, Group, Mark, Reason, Unseen


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def told(folder: Path, text: str | bytes) -> list[Frame | Mark | Unseen]:
    return list(open_log(written(folder, text)).inputs())


def problems_of(folder: Path, text: str | bytes) -> list[str]:
    """Problems, each without the folder's name."""
    with pytest.raises(InputError) as caught:
        open_log(written(folder, text))
    return [problem.removeprefix(f"{folder}/") for problem in caught.value.problems]


def test_a_log_is_told_as_marks_and_frames_in_si(tmp_path: Path) -> None:
    text = (
        "time_s,bag:mbar,part1:degC,mark\n"
        "0,1013.25,20.0,\n"
        "0.5,,20.1234,pump_on\n"
        "1,500,,mixed;valve_shut\n"
    )
    log = open_log(written(tmp_path, text))
    assert log.group == Group(
        "log", (Channel("bag", Role.BAG), Channel("part1", Role.PART)), period_s=None
    )
    assert (log.rows, log.first_wall, log.first_s, log.last_s) == (3, None, 0.0, 1.0)
    assert list(log.inputs()) == [
        Frame(0.0, 0, (101325.0, 293.15), (None, None)),
        Mark(time_s=0.5, name="pump_on", heard_s=0.5),
        Frame(0.5, 0, (None, 293.273), (Reason.NOT_READ, None)),
        Mark(time_s=1.0, name="mixed", heard_s=1.0),
        Mark(time_s=1.0, name="valve_shut", heard_s=1.0),
        Frame(1.0, 0, (50000.0, None), (None, Reason.NOT_READ)),
    ]


def test_a_log_can_be_told_again(tmp_path: Path) -> None:
    log = open_log(written(tmp_path, "time_s,bag:Pa\n0,1\n1,2\n"))
    assert list(log.inputs()) == list(log.inputs())


def test_dates_become_seconds_since_the_first_row(tmp_path: Path) -> None:
    text = (
        "time,shop:K\n"
        "2026-03-01T08:00:00Z,290\n"
        "2026-03-01t09:00:00.25+01:00,290\n"
        "2026-03-01 08:00:01.000000900z,290\n"
    )
    log = open_log(written(tmp_path, text))
    assert log.first_wall == datetime(2026, 3, 1, 8, tzinfo=UTC)
    assert [one.time_s for one in log.inputs()] == [0.0, 0.25, 1.0]


def test_seconds_keep_the_logs_own_zero_on_whole_milliseconds(tmp_path: Path) -> None:
    text = "time_s,bag:Pa\n12.3456,1\n99.9999,1\n"
    assert [one.time_s for one in told(tmp_path, text)] == [12.346, 100.0]


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        # NIST SP 811 (2008), B.8: 1 inHg (conventional) is 3386.389 Pa, 1 Torr is 101325/760 Pa.
        ("bag:Pa", "5000.04", 5000.0),
        ("bag:hPa", "50", 5000.0),
        ("bag:kPa", "5", 5000.0),
        ("bag:mbar", "50", 5000.0),
        ("bag:inHg", "1", 3386.4),
        ("bag:Torr", "760", 101325.0),
        ("pump:Pa", "0", 0.0),
        ("barometer:kPa", "115", 115000.0),
        ("part1:degC", "25", 298.15),
        ("cup:degF", "77", 298.15),
        ("mould:K", "298.15049", 298.15),
        ("shop:degC", "-60", 213.15),
        ("shop:degC", "400", 673.15),
        ("shop:degC", " +1e1 ", 283.15),
    ],
)
def test_every_unit_becomes_si_on_the_grid(
    tmp_path: Path, column: str, cell: str, value: float
) -> None:
    (frame,) = told(tmp_path, f"time_s,{column}\n0,{cell}\n")
    assert isinstance(frame, Frame)
    assert list(frame.values) == [value]
    assert frame.reasons == (None,)


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("bag:Pa", "-0.1"),
        ("bag:kPa", "115.001"),
        ("bag:inHg", "1e308"),
        ("part1:degC", "-60.1"),
        ("part1:degC", "400.1"),
        ("part1:K", "-1"),
    ],
)
def test_a_reading_that_no_bench_can_have_is_missing_and_no_error(
    tmp_path: Path, column: str, cell: str
) -> None:
    assert told(tmp_path, f"time_s,{column}\n0,{cell}\n") == [
        Frame(0.0, 0, (None,), (Reason.OUT_OF_RANGE,))
    ]


def test_byte_order_mark_crlf_quotes_and_spaces_are_accepted(tmp_path: Path) -> None:
    text = b'\xef\xbb\xbftime_s, bag:Pa ,"mark"\r\n0,"1000", "\r\n\r\n1, ,pump_on ; mixed'
    text = text.replace(b' "\r\n\r\n', b'""\r\n\r\n')
    assert told(tmp_path, text) == [
        Frame(0.0, 0, (1000.0,), (None,)),
        Mark(time_s=1.0, name="pump_on", heard_s=1.0),
        Mark(time_s=1.0, name="mixed", heard_s=1.0),
    ]


def test_a_row_that_only_says_what_was_done_is_no_reading_that_failed(tmp_path: Path) -> None:
    assert told(tmp_path, b"time_s,bag:Pa,mark\n0,,\n1,,mixed\n2,9,pump_on\n") == [
        Frame(0.0, 0, (None,), (Reason.NOT_READ,)),
        Mark(time_s=1.0, name="mixed", heard_s=1.0),
        Mark(time_s=2.0, name="pump_on", heard_s=2.0),
        Frame(2.0, 0, (9.0,), (None,)),
    ]


def test_a_span_without_rows_is_told_before_the_row_that_ends_it(tmp_path: Path) -> None:
    text = "time_s,bag:Pa,mark\n0,1,\n1,1,\n2,1,\n12.1,1,mixed\n"
    assert told(tmp_path, text)[3:] == [
        Unseen(time_s=12.1, start_s=2.0, why="the log has no rows"),
        Mark(time_s=12.1, name="mixed", heard_s=12.1),
        Frame(12.1, 0, (1.0,), (None,)),
    ]


@pytest.mark.parametrize(
    ("times_s", "gaps"),
    [
        ([0.0, 1.0, 2.0, 12.0], [None, None, None, None]),
        ([0.0, 1.0, 2.0, 12.001], [None, None, None, 2.0]),
        ([0.0, 0.1, 0.2, 5.2], [None, None, None, None]),
        ([0.0, 0.1, 0.2, 5.201], [None, None, None, 0.2]),
        ([0.0, 3600.0, 3601.0], [None, None, None]),
        ([0.0, 60.0, 120.0, 700.0], [None, None, None, None]),
        ([0.0, 60.0, 120.0, 721.0], [None, None, None, 120.0]),
    ],
)
def test_a_gap_is_longer_than_ten_usual_periods_and_five_seconds(
    times_s: list[float], gaps: list[float | None]
) -> None:
    rule = GapRule()
    assert [rule.gap_before(time_s) for time_s in times_s] == gaps


def test_a_log_that_slows_down_is_not_called_blind_for_ever() -> None:
    rule = GapRule()
    times_s = [float(second) for second in range(30)] + [30.0 + 60.0 * row for row in range(1, 40)]
    found = [rule.gap_before(time_s) for time_s in times_s]
    assert found[-1] is None


@given(st.lists(st.integers(1, 10**6), min_size=1, max_size=60), st.integers(1, 59))
def test_what_is_told_of_a_gap_depends_on_no_later_row(steps_ms: list[int], cut: int) -> None:
    times_s = [step / 1000.0 for step in itertools.accumulate(steps_ms)]
    whole, part = GapRule(), GapRule()
    full = [whole.gap_before(time_s) for time_s in times_s]
    assert [part.gap_before(time_s) for time_s in times_s[:cut]] == full[:cut]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "log.csv: the log is empty."),
        ("\n", "log.csv line 1: the first column must be time_s or time, not "),
        ("time_s,bag:Pa\n", "log.csv: the log holds a header and no row."),
        ("time_s\n0\n", "line 1: there is no column besides the time; add one like bag:Pa."),
        ("t,bag:Pa\n0,1\n", 'line 1: the first column must be time_s or time, not "t".'),
        ("time_s;bag:Pa\n0;1\n", "line 1: columns are not separated by commas."),
        ("time_s\tbag:Pa\n0\t1\n", "line 1: columns are not separated by commas."),
        ("time_s,bag\n0,1\n", 'column "bag" has no unit: write it like bag:Pa.'),
        ("time_s,bag:Pa,marks\n0,1,\n", "Did you mean mark?"),
        ("time_s,mark,bag:Pa\n0,,1\n", "column mark must be the last one"),
        ("time_s,bga:Pa\n0,1\n", 'column "bga:Pa" begins with no role; the roles are bag, pump,'),
        ("time_s,bga:Pa\n0,1\n", "Did you mean bag?"),
        ("time_s,part:degC\n0,1\n", "Did you mean part1?"),
        ("time_s,bag:degC\n0,1\n", "is a pressure: its unit must be one of Pa, hPa, kPa, mbar,"),
        ("time_s,part1:Pa\n0,1\n", "is a temperature: its unit must be one of "),
        ("time_s,bag:inhg\n0,1\n", 'not "inhg". Did you mean inHg?'),
        ("time_s,bag:Pa,bag:hPa\n0,1,1\n", 'column "bag:hPa": the channel stands in two columns.'),
        ("time_s,bag:Pa\n0,12,5\n", "line 2: has 3 cells, the header has 2. A decimal comma"),
        ("time_s,bag:Pa,mark\n0,1\n", "line 2: has 2 cells, the header has 3."),
        ('time_s,bag:Pa\n0,"12,5"\n', 'bag:Pa: "12,5" is not a number; write a point in decimals.'),
        ("time_s,bag:Pa\n0,abc\n", 'column bag:Pa: "abc" is not a number; leave it blank where'),
        ("time_s,bag:Pa\n0,nan\n", '"nan" is not a number'),
        ("time_s,bag:Pa\n0,-inf\n", '"-inf" is not a number'),
        ("time_s,bag:Pa\n0,1e999\n", '"1e999" is not a number'),
        ("time_s,bag:Pa\n0,1_0\n", '"1_0" is not a number'),
        ("time_s,bag:Pa\n0,\u0661\n", "is not a number"),
        ("time_s,bag:Pa\n0,\x1b[2J\n", '"\\u001b[2J" is not a number'),
        ("time_s,bag:Pa\n,1\n", "line 2: the time is blank; every row needs one."),
        ("time_s,bag:Pa\n-0.001,1\n", 'time_s "-0.001" must be from 0 to 1e+10.'),
        ("time_s,bag:Pa\nx,1\n", '"x" is not a number'),
        ("time_s,bag:Pa\n1,1\n1,1\n", 'line 3: time "1" is not later than the row before'),
        ("time_s,bag:Pa\n1,1\n1.0004,1\n", "times must rise by at least a millisecond."),
        ("time,bag:Pa\n2026-03-01T08:00:00,1\n", "has no offset from UTC; write it like 2026-"),
        ("time,bag:Pa\n20260301T080000Z,1\n", "must be written like 2026-03-01T08:30:00+01:00."),
        ("time,bag:Pa\n2026-02-30T08:00:00Z,1\n", "is on no calendar"),
        ("time,bag:Pa\n12.5,1\n", 'time "12.5" must be written like'),
        ("time_s,bag:Pa,mark\n0,1,mixt\n", 'line 2: "mixt" is no mark. Did you mean mixed?'),
        ("time_s,bag:Pa,mark\n0,1,xyz\n", '"xyz" is no mark. Marks are mixed, dosed, bag_closed,'),
        ("time_s,bag:Pa,mark\n0,1,mixed;\n", '"" is no mark.'),
        ("time_s,bag:Pa,mark\n0,1,abandoned\n", '"abandoned" is no mark.'),
        ('time_s,bag:Pa\n0,1\n1,"2\n', "line 3: unexpected end of data. A quote is open"),
        ("time_s,bag:Pa\r0,1\r", "line 1: a line ends in CR alone."),
        ("time_s,bag:Pa\n0," + "1" * 70000, "line 2: is longer than 64 kB"),
        (b"time_s,bag:Pa\n0,1\n1,\xff\n", "line 3: is not UTF-8 text."),
    ],
)
def test_what_is_wrong_with_a_log_is_named(tmp_path: Path, text: str | bytes, message: str) -> None:
    assert message in "\n".join(problems_of(tmp_path, text))


def test_all_problems_come_at_once_with_their_lines(tmp_path: Path) -> None:
    text = "time_s,bag:Pa,part1:degC,mark\n0,a,b,mixt\n1,1,20,\n0.5,1,20,\n2,1\n3,1,20,mixed\n"
    assert [problem.split(":")[0] for problem in problems_of(tmp_path, text)] == [
        "log.csv line 2",
        "log.csv line 2",
        "log.csv line 2",
        "log.csv line 4",
        "log.csv line 5",
    ]


def test_all_problems_of_a_header_come_at_once(tmp_path: Path) -> None:
    assert len(problems_of(tmp_path, "t,bag,part1:Pa,x:K\n0,1,2,3\n")) == 4


def test_one_time_too_late_is_one_problem(tmp_path: Path) -> None:
    rows = "".join(f"{second},1\n" for second in (0, 1, 9999, 2, 3, 4))
    (problem,) = problems_of(tmp_path, "time_s,bag:Pa\n" + rows)
    assert problem.startswith('log.csv line 5: time "2" is not later')


def test_a_flood_of_problems_is_counted(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, "time_s,bag:Pa\n" + "".join(f"{n},x\n" for n in range(25)))
    assert len(problems) == 21
    assert problems[-1] == "log.csv: and 5 more problems."


def test_a_log_that_is_missing_or_no_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.csv does not exist\. Check the name"):
        open_log(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is not a regular file"):
        open_log(tmp_path)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(InputError, match="is not a regular file"):
        open_log(pipe)
    with pytest.raises(InputError, match=r"cannot be read|does not exist"):
        open_log("a\0b")


def test_rows_added_after_the_check_are_not_told(tmp_path: Path) -> None:
    path = written(tmp_path, "time_s,bag:Pa\n0,1\n")
    log = open_log(path)
    path.write_text("time_s,bag:Pa\n0,1\n1,oops\n", encoding="utf-8")
    assert len(list(log.inputs())) == 1


def test_a_log_that_was_cut_after_the_check_is_not_told_as_whole(tmp_path: Path) -> None:
    path = written(tmp_path, "time_s,bag:Pa\n0,1\n1,1\n")
    log = open_log(path)
    path.write_text("time_s,bag:Pa\n0,1\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"log\.csv was changed while it was read"):
        list(log.inputs())


def checked_or_refused(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = written(Path(folder), content)
        try:
            log = open_log(path)
        except InputError as error:
            assert error.problems
            return
        last_s = -math.inf
        for one in log.inputs():
            assert one.time_s >= last_s
            last_s = one.time_s
            if isinstance(one, Frame):
                assert len(one.values) == len(one.reasons) == len(log.group.channels)
                pairs = zip(one.values, one.reasons, strict=True)
                assert all((value is None) != (reason is None) for value, reason in pairs)


@given(st.binary())
def test_any_bytes_are_a_log_or_a_list_of_problems(content: bytes) -> None:
    checked_or_refused(content)


HEADERS = st.sampled_from(
    ["time_s,bag:mbar,part1:degC,mark", "time,bag:Pa,shop:K,mark", "time_s,bag:inHg,cup:degF,mark"]
)
TIMES = st.one_of(
    st.integers(0, 100).map(str),
    st.floats().map(str),
    st.datetimes(timezones=st.just(UTC)).map(datetime.isoformat),
)
CELLS = st.one_of(st.just(""), st.floats().map(str), st.text(max_size=4))
ROWS = st.tuples(TIMES, CELLS, CELLS, st.one_of(st.just(""), st.sampled_from(MARKS))).map(",".join)


@given(HEADERS, st.lists(ROWS, max_size=8))
def test_any_log_of_likely_rows_is_told_or_refused(header: str, rows: list[str]) -> None:
    checked_or_refused("\n".join([header, *rows]).encode("utf-8", "surrogatepass"))
