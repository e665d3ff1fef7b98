"""The README's pictures are what the program draws today, and small enough to load."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.pictures import PANEL, REPORT, panel_picture, report_picture, standing_alone

LARGEST_BYTES = 100_000
README = Path(__file__).parent.parent / "README.md"


def words(svg: str) -> list[str]:
    """Read a picture; digits may turn out a little otherwise on another machine."""
    texts = (piece for piece in ElementTree.fromstring(svg).itertext())
    return [re.sub(r"[0-9]", "0", text.strip()) for text in texts if text.strip()]


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def test_the_panels_picture_holds_the_words_that_the_panel_draws(tmp_path: Path) -> None:
    assert words(text_of(PANEL)) == words(panel_picture(tmp_path))


def test_the_reports_picture_holds_the_words_that_the_report_draws(tmp_path: Path) -> None:
    assert words(text_of(REPORT)) == words(report_picture(tmp_path))


@pytest.mark.parametrize("path", [PANEL, REPORT])
def test_a_picture_is_small_loads_nothing_and_is_shown_in_the_readme(path: Path) -> None:
    svg = text_of(path)
    assert len(svg.encode()) < LARGEST_BYTES
    assert not re.search(r"url\((?!#)|@import|<script|<image", svg)
    assert f"dashboard/pictures/{path.name}" in text_of(README)


def test_a_chart_taken_from_a_page_stands_on_white_paper() -> None:
    alone = standing_alone('<p><svg a="b"><path d="M"/></svg></p><svg c="d"></svg>')
    assert ElementTree.fromstring(alone).attrib == {"a": "b"}
    assert alone.index("<rect") < alone.index("<path")
    assert alone.count("<svg") == 1
