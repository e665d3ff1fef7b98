import pytest

from firmware_host.inputs.line_care import SLOT_MS, LineCare


def care(period_s: float | None = 0.5) -> LineCare:
    return LineCare(period_s, 0)


def minutes(line: LineCare, slots: int, good: int, damaged: int, begin: int = 0) -> list[str]:
    """Let slots pass with so many lines in each; what was told at the end of each."""
    told = []
    for slot in range(begin, begin + slots):
        line.heard(good, damaged)
        told += [line.trouble] if line.look((slot + 1) * SLOT_MS) else []
    return told


def test_one_line_in_a_hundred_is_no_trouble_and_one_more_is() -> None:
    assert minutes(care(), 6, good=198, damaged=2) == []
    told = minutes(care(), 6, good=197, damaged=3)
    assert told == [
        "1.5 % of its lines come damaged (limit 1 %). Check cable, plug and baud.",
    ]


def test_a_single_damaged_line_is_no_trouble_however_few_there_are() -> None:
    line = care()
    line.heard(1, 1)
    assert not line.look(SLOT_MS)
    line.heard(1, 1)
    assert line.look(2 * SLOT_MS)


def test_damage_is_over_after_a_minute_without_any() -> None:
    line = care()
    minutes(line, 1, good=10, damaged=10)
    assert minutes(line, 5, good=20, damaged=0, begin=1) == []
    assert minutes(line, 1, good=20, damaged=0, begin=6) == [""]


def test_nothing_is_judged_before_a_slot_is_over() -> None:
    line = care()
    line.heard(0, 50)
    assert not line.look(SLOT_MS - 1)
    assert line.look(SLOT_MS)


@pytest.mark.parametrize("ratio", [0.2, 0.79, 1.26, 5.0])
def test_a_wrong_pace_is_told_with_both_figures(ratio: float) -> None:
    line = care()
    for _ in range(5):
        line.sampled(round(500.0 * ratio), 1)
    assert line.look(SLOT_MS)
    assert line.trouble == (
        f"It sends every {0.5 * ratio:.3g} s, the bench file says 0.5 s. "
        "Correct period_s, or the board's firmware."
    )


@pytest.mark.parametrize("ratio", [0.8, 1.0, 1.25])
def test_a_pace_within_a_quarter_is_no_trouble(ratio: float) -> None:
    line = care()
    for _ in range(20):
        line.sampled(round(500.0 * ratio), 1)
    assert not line.look(SLOT_MS)


def test_lost_samples_are_not_a_slow_pace() -> None:
    line = care()
    for _ in range(5):
        line.sampled(2500, 5)
    assert not line.look(SLOT_MS)


def test_few_samples_and_an_unknown_period_are_not_judged() -> None:
    line, unknown = care(), care(None)
    for _ in range(4):
        line.sampled(5000, 1)
        unknown.sampled(5000, 2)
    assert not line.look(SLOT_MS)
    assert not unknown.look(SLOT_MS)


def test_both_troubles_are_told_together() -> None:
    line = care()
    line.heard(5, 5)
    line.sampled(12_500, 5)
    assert line.look(SLOT_MS)
    assert line.trouble.startswith("50.0 % of its lines come damaged")
    assert "It sends every 2.5 s" in line.trouble
