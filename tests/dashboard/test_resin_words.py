"""The resin's two lines: what is said in each state, and what is never shown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.heard import Heard
from dashboard.resin_words import resin
from dashboard.shown import Screen, text_of
from dashboard.view_model import screen_of
from firmware_host.model.events import CaseAhead, CureForeseen, CureState
from firmware_host.model.snapshot import CureView
from tests.dashboard.parts import KICKED_CURE, WAITING_CURE, snapshot

NEVER = (None, None, None)
NOW = CaseAhead(
    warmed_k=None,
    gel_s=(3000.0, 3600.0, 4800.0),
    onset_s=(3300.0, 3900.0, 5100.0),
    peak_s=(4800.0, 6000.0, 7800.0),
    hottest_k=(300.0, 315.0, 331.4),
    rest_s=(10800.0, 12600.0, None),
    pull_s=NEVER,
)
WARM = replace(NOW, warmed_k=303.15, gel_s=(2400.0, 2700.0, 3300.0))
AHEAD = CureForeseen(time_s=1500.0, governs="part2", cases=(NOW, WARM), warm_to_k=303.15)
SEEN = replace(WAITING_CURE, inhibitor=(0.5, 0.62, 0.8), ahead=AHEAD)
KICKED = replace(KICKED_CURE, ahead=replace(AHEAD, cases=(NOW,), warm_to_k=None))


def lines(cure: CureView) -> list[str]:
    return [text_of(shown) for shown in resin(snapshot(cure=cure))]


@pytest.mark.parametrize(
    ("cure", "below"),
    [
        (SEEN, "induction 62%; peak 09:20-10:10, up to 58 C; 15 min sooner at 30 C"),
        (
            replace(SEEN, state=CureState.LATE),
            "15 min sooner at 30 C; peak 09:20-10:10, up to 58 C; by part2",
        ),
        (KICKED, "peak 09:20-10:10; vacuum off 11:00-later"),
        (
            replace(KICKED, state=CureState.COOLING, why=("for vacuum off: wanted 8 K over shop",)),
            "vacuum off 11:00-later; wanted 8 K over shop",
        ),
        (
            replace(KICKED, state=CureState.MAY_REST, why=("gel and peak past", "2 K over shop")),
            "gel and peak past; 2 K over shop",
        ),
        (
            replace(KICKED, state=CureState.DIED, why=("it kicked and stopped at 20% to 35%",)),
            "it kicked and stopped at 20% to 35%: keep the vacuum on",
        ),
        (
            replace(SEEN, state=CureState.NOT_OBSERVABLE),
            "put a witness cup, 20 to 50 g, insulated, with a couple beside it",
        ),
    ],
)
def test_below_the_word_stands_what_comes(cure: CureView, below: str) -> None:
    assert lines(cure)[1] == " " * 13 + below


def test_a_thin_skin_cannot_be_seen_and_says_so() -> None:
    why = ("cannot see the kick: this part warms too little, or no couple is on it", "cup")
    first, _ = lines(replace(SEEN, state=CureState.NOT_OBSERVABLE, why=why))
    assert first == " resin       not observable: cannot see the kick"


def test_a_kick_after_it_was_late_is_called_late() -> None:
    assert lines(replace(KICKED, late=True))[0].startswith(" resin       kicked late   gelled")
    cooling = replace(KICKED, late=True, state=CureState.COOLING)
    assert lines(cooling)[0].startswith(" resin       cooling, kicked late")


@pytest.mark.parametrize("state", [CureState.COOLING, CureState.MAY_REST, CureState.MAY_PULL])
def test_the_longest_word_leaves_room_for_gel_and_conversion(state: CureState) -> None:
    first = lines(replace(KICKED, late=True, state=state))[0]
    assert len(first) <= 80
    assert first.endswith("conversion 42% (30-55%)")


def test_what_has_begun_is_no_time_to_count_down_to() -> None:
    begun = replace(NOW, peak_s=(0.0, 1000.0, 7800.0), rest_s=(0.0, 0.0, None))
    below = lines(replace(KICKED, ahead=replace(AHEAD, cases=(begun,))))[1]
    assert below.strip() == "peak by 10:10; vacuum off any time now"


def test_a_daemon_that_tells_nothing_of_it_leaves_one_line() -> None:
    assert len(lines(WAITING_CURE)) == 1


def screen(cure: CureView) -> Screen:
    return screen_of(Heard(snapshot=snapshot(cure=cure), at_s=0.0), 0.0)


@pytest.mark.parametrize("state", list(CureState))
def test_both_lines_fit_into_80_cells_and_channels_give_way(state: CureState) -> None:
    for cure in (SEEN, KICKED):
        shown = screen(replace(cure, state=state, why=("gel and peak are past",)))
        assert all(len(text_of(line)) <= 80 for line in shown.resin)
        assert len(shown.resin) + len(shown.channels) <= 5
