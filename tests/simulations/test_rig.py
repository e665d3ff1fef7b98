import pytest

from hardware.frames import FrameReader
from hardware.messages import Hello, SampleLine, Status
from simulations.rig import Happened, Line, Marked, Rig
from simulations.scenario import SHIPPED, Scenario, parse

TEXT = """
[scenario]
name = "try"
seed = 3
about = "A try."
length_s = 600.0
job = "hatch-cover"
"""
DROP_TEST = """
[plant.bag]
leak_pa_per_s = 2.0
lifted_share = 0.2
[plant.outgassing]
pocket_ml = 60.0
[[event]]
at_s = 10.0
do = "bag_closed"
[[event]]
at_s = 20.0
do = "pump_on"
[[event]]
at_s = 300.25
do = "valve_shut"
[[mark]]
at_s = 304.0
name = "valve_shut"
[[event]]
at_s = 500.25
do = "valve_open"
"""


def scenario(text: str = "") -> Scenario:
    return parse(TEXT + text, "try.toml", SHIPPED)


def test_the_board_talks_on_its_own_beat() -> None:
    rig = Rig(scenario(), period_s=0.5)
    data = b"".join(line.data for line in rig.run_to(30.0) if isinstance(line, Line))
    messages = FrameReader().feed(data)
    samples = [message for message in messages if isinstance(message, SampleLine)]
    assert [line.seq for line in samples] == list(range(1, 61))
    assert {later.t_ms - line.t_ms for line, later in zip(samples, samples[1:], strict=False)} <= {
        499,
        500,
        501,
    }
    assert sum(isinstance(message, Status) for message in messages) == 3


def test_events_and_marks_come_at_their_times_and_in_order() -> None:
    rig = Rig(scenario(DROP_TEST))
    seen = [thing for thing in rig.run_to(600.0) if not isinstance(thing, Line)]
    assert [(thing.at_s, thing.name) for thing in seen] == [
        (10.0, "bag_closed"),
        (20.0, "pump_on"),
        (300.25, "valve_shut"),
        (304.0, "valve_shut"),
        (500.25, "valve_open"),
    ]
    assert [type(thing) for thing in seen][2:4] == [Happened, Marked]
    assert rig.over


def test_the_truth_of_a_drop_test_is_the_leak_and_not_the_rise() -> None:
    rig = Rig(scenario(DROP_TEST))
    for _ in rig.pass_time(600.0):
        pass
    (span,) = rig.truth.truth().isolated
    assert (span.start_s, span.end_s) == (300.25, 500.25)
    # The leak was stated as the rise in the deep bag; warming and springing back cost a little.
    assert span.leak_rise_pa_per_s == pytest.approx(2.0, rel=0.01)
    assert span.rise_pa_per_s > span.leak_rise_pa_per_s + 0.1


def test_the_same_scenario_sends_the_same_bytes() -> None:
    first, second = (
        [line.data for line in Rig(scenario(DROP_TEST)).run_to(60.0) if isinstance(line, Line)]
        for _ in range(2)
    )
    assert first == second


def test_another_seed_sends_other_bytes() -> None:
    other = parse(TEXT.replace("seed = 3", "seed = 4"), "try.toml", SHIPPED)
    first, second = (
        [line.data for line in Rig(which).run_to(5.0) if isinstance(line, Line)]
        for which in (scenario(), other)
    )
    assert first != second


def test_a_reboot_is_a_hello_with_another_boot_id() -> None:
    rig = Rig(scenario('[[event]]\nat_s = 7.3\ndo = "reboot"\n'))
    data = b"".join(line.data for line in rig.run_to(10.0) if isinstance(line, Line))
    messages = FrameReader().feed(rig.board.hello() + data)
    hellos = [message for message in messages if isinstance(message, Hello)]
    assert len({hello.boot_id for hello in hellos}) == 1
    at = messages.index(hellos[-1], 1)
    after = [message for message in messages[at:] if isinstance(message, SampleLine)]
    assert (after[0].seq, after[0].t_ms) == (1, 500)


def test_a_pulled_cable_leaves_the_board_talking() -> None:
    text = '[[event]]\nat_s = 5.0\ndo = "unplug"\n[[event]]\nat_s = 8.0\ndo = "replug"\n'
    rig = Rig(scenario(text))
    for _ in rig.run_to(6.0):
        pass
    assert not rig.plugged
    lines = [thing for thing in rig.run_to(9.0) if isinstance(thing, Line)]
    assert rig.plugged
    assert len(lines) == 6


def test_what_is_due_next_is_the_earliest_of_board_and_scenario() -> None:
    rig = Rig(scenario('[[event]]\nat_s = 0.2\ndo = "bag_closed"\n'))
    assert rig.next_due_s() == 0.2
    for _ in rig.run_to(0.3):
        pass
    assert rig.next_due_s() == 0.5


def test_a_fault_of_the_line_is_between_the_board_and_whoever_reads() -> None:
    text = (
        '[[event]]\nat_s = 2.0\ndo = "fault"\nchannel = "line"\nkind = "delayed"\namount = 1.2\n'
        "for_s = 2.0\n"
    )
    rig = Rig(scenario(text))
    lines = [thing for thing in rig.run_to(6.0) if isinstance(thing, Line)]
    messages = FrameReader().feed(b"".join(line.data for line in lines))
    seqs = [message.seq for message in messages if isinstance(message, SampleLine)]
    assert seqs == list(range(1, 13))
    late = [line.at_s for line in lines][4:8]
    assert late == pytest.approx([3.7, 4.2, 4.7, 5.2], abs=0.01)
