import pytest

from simulations.faults import Fault, FaultKind
from simulations.wire import Wire

LINE = b"@S,1,1000,32768*00000000\n"


def wire(kind: FaultKind, amount: float | None = None) -> Wire:
    return Wire([Fault(channel="line", kind=kind, start_s=10.0, end_s=20.0, amount=amount)], 3)


def passed(wire: Wire, at_s: float) -> list[bytes]:
    wire.send(at_s, LINE)
    return wire.due(at_s)


@pytest.mark.parametrize("kind", [FaultKind.OFF, FaultKind.GARBAGE])
def test_a_line_is_as_sent_before_and_after_its_fault(kind: FaultKind) -> None:
    line = wire(kind)
    assert [passed(line, at_s) for at_s in (9.9, 20.0)] == [[LINE], [LINE]]
    assert passed(line, 10.0) != [LINE]


def test_a_line_that_is_off_passes_nothing() -> None:
    assert passed(wire(FaultKind.OFF), 10.0) == []


def test_garbage_has_as_many_bytes() -> None:
    (data,) = passed(wire(FaultKind.GARBAGE), 10.0)
    assert len(data) == len(LINE)
    assert data != LINE


def test_a_faulty_channel_does_not_touch_the_line() -> None:
    line = Wire([Fault(channel="bag", kind=FaultKind.OFF, start_s=0.0)], 3)
    assert passed(line, 10.0) == [LINE]


def test_late_lines_come_late_and_overtake_none() -> None:
    line = wire(FaultKind.DELAYED, 3.0)
    assert passed(line, 19.0) == []
    assert line.next_due_s == 22.0
    assert passed(line, 21.0) == []
    assert line.due(21.9) == []
    assert line.due(22.0) == [LINE, LINE]
    assert line.next_due_s == float("inf")


def test_an_intermittent_line_loses_its_share() -> None:
    line = wire(FaultKind.INTERMITTENT, 0.3)
    through = sum(len(passed(line, 15.0)) for _ in range(2000))
    # Binomial: one standard deviation is 20.
    assert through == pytest.approx(1400, abs=100)


def test_a_noisy_line_flips_its_share_of_bits() -> None:
    line = wire(FaultKind.NOISY, 0.01)
    flipped = sum(
        (sent ^ came).bit_count()
        for _ in range(500)
        for sent, came in zip(LINE, passed(line, 15.0)[0], strict=True)
    )
    # Binomial over 100,000 bits: one standard deviation is 31.
    assert flipped == pytest.approx(500 * 8 * len(LINE) * 0.01, abs=160)
