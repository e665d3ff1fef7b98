import math

import pytest

from hardware.channels import CoupleSpec
from hardware.decoder import ChannelAt, PortDecoder
from hardware.frames import FrameReader, encode_command
from hardware.messages import Hello, Reply, SampleLine, Status
from hardware.readings import Fault
from simulations.board import KINDS, SPECS, Board
from simulations.sensors import PLACES, Lead, Reading

CHANNELS = [ChannelAt(name=name, index=i, spec=SPECS[name]) for i, name in enumerate(PLACES)]
FINE = {
    "bag": Reading(2345.6),
    "pump": Reading(101290.0),
    "part1": Reading(295.15),
    "part2": Reading(313.9),
    "mould": Reading(333.3),
    "shop": Reading(285.2),
    "cup": Reading(459.8),
}
CHIP_K = 298.15


def sample_of(board: Board, readings: dict[str, Reading], now_s: float = 0.5) -> SampleLine:
    (message,) = FrameReader().feed(board.sample(now_s, readings, CHIP_K))
    assert isinstance(message, SampleLine)
    return message


def test_a_line_decodes_to_the_truth_within_the_chips_step() -> None:
    line = sample_of(Board(seed=1), FINE)
    values, faults = PortDecoder(CHANNELS).decode(line.raws)
    assert faults == (None,) * 7
    for name, value in zip(PLACES, values, strict=True):
        assert value is not None
        # 16 bit over the converter's span: 4.7 Pa; the couple's chip steps by 0.25 K.
        step = 0.25 if isinstance(SPECS[name], CoupleSpec) else 5.0
        assert value == pytest.approx(FINE[name].value, abs=step), name


def test_a_supply_that_moves_does_not_move_a_pressure() -> None:
    board = Board(seed=1)
    decoder = PortDecoder(CHANNELS)
    supplies, pressures = set(), []
    for i in range(50):
        line = sample_of(board, FINE, 0.5 * (i + 1))
        supplies.add(line.raws[7])
        pressures.append(decoder.decode(line.raws)[0][1])
    assert len(supplies) > 20
    assert all(p is not None and math.isclose(p, 101290.0, abs_tol=5.0) for p in pressures)


def test_what_the_leads_say_reaches_the_host() -> None:
    readings = {
        **FINE,
        "bag": Reading(None, Lead.NOT_READ),
        "pump": Reading(-12500.0),
        "part1": Reading(None, Lead.OPEN),
        "part2": Reading(None, Lead.SHORTED),
    }
    values, faults = PortDecoder(CHANNELS).decode(sample_of(Board(seed=1), readings).raws)
    assert values[:4] == (None,) * 4
    assert faults[:4] == (Fault.NOT_READ, Fault.OPEN, Fault.OPEN, Fault.SHORT)


def test_the_hello_agrees_with_the_bench_file() -> None:
    (hello,) = FrameReader().feed(Board(seed=1).hello())
    assert isinstance(hello, Hello)
    assert hello.kinds == KINDS
    assert PortDecoder(CHANNELS).agrees(hello.kinds) == []


def test_a_reboot_changes_the_boot_id_and_starts_the_counters_anew() -> None:
    board = Board(seed=1)
    (before,) = FrameReader().feed(board.hello())
    sample_of(board, FINE, 0.5)
    (after,) = FrameReader().feed(board.boot(100.0))
    assert isinstance(before, Hello)
    assert isinstance(after, Hello)
    assert before.boot_id != after.boot_id
    assert before.uid == after.uid
    line = sample_of(board, FINE, 100.5)
    assert (line.seq, line.t_ms) == (1, 500)


def test_the_boards_time_wraps_as_a_real_one_does() -> None:
    board = Board(seed=1, drift_ppm=0.0)
    weeks_s = 50.0 * 86400.0
    line = sample_of(board, FINE, weeks_s)
    assert line.t_ms == int(weeks_s * 1000.0) % 2**32


def test_the_crystal_is_a_little_off() -> None:
    fast = Board(seed=1, drift_ppm=100.0)
    assert sample_of(fast, FINE, 10000.0).t_ms == 10001000


def test_status_has_its_own_count_and_tells_overruns() -> None:
    board = Board(seed=1)
    board.overruns = 4
    sample_of(board, FINE)
    (status,) = FrameReader().feed(board.status(10.0))
    assert isinstance(status, Status)
    assert (status.seq, status.uptime_s, status.overruns) == (1, 10, 4)
    assert status.supply_mv == pytest.approx(5000, abs=150)


def test_the_board_answers_the_host() -> None:
    board = Board(seed=1)
    said = encode_command("I") + encode_command("R,200") + encode_command("R,5")
    answers = [FrameReader().feed(line)[0] for line in board.hear(said, 3.0)]
    assert answers == [
        Reply(command="I", ok=True),
        Reply(command="R", ok=True),
        Reply(command="R", ok=False),
    ]
    assert (board.blinks, board.period_s) == (1, 0.2)
    (hello,) = board.hear(encode_command("?H"), 3.0)
    assert hello == board.hello()


def test_the_board_ignores_noise_and_takes_commands_in_pieces() -> None:
    board = Board(seed=1)
    command = encode_command("I")
    assert board.hear(b"\xff\x00@R,1*00000000\n" + command[:4], 1.0) == []
    assert len(board.hear(command[4:], 1.0)) == 1
