"""The page itself, parsed as a browser would, with hostile text where a person writes."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from firmware_host.commands.report_folder import make_page
from firmware_host.errors import RecordError
from firmware_host.outputs.record_rows import checked
from firmware_host.report.charts import draw, draw_picture
from firmware_host.report.render import LONGEST_TEXT, render
from firmware_host.report.words import brief
from tests.hostile_strings import MARKUP, hostile_strings, steering_in
from tests.report.parts import (
    PART,
    closed_job,
    fill,
    frames,
    make_folder,
    mark,
    open_writer,
    two_alarms,
    whole_job,
)
from tests.report.test_build import built, facts_of, whole


class Shape(HTMLParser):
    """Counts elements and attributes, and keeps the text."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: Counter[str] = Counter()
        self.attributes: Counter[tuple[str, str]] = Counter()
        self.references: list[str] = []
        self.text: list[str] = []
        self.remarks = 0
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements[tag] += 1
        for name, value in attrs:
            self.attributes[tag, name] += 1
            if name in ("src", "href", "xlink:href", "action", "data", "srcset"):
                self.references.append(value or "")

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def handle_comment(self, data: str) -> None:
        del data
        self.remarks += 1


def page_of(folder: Path) -> str:
    return make_page(folder, lambda _: None).page


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> str:
    return page_of(closed_job(tmp_path_factory.mktemp("plain")))


def test_the_page_runs_nothing_and_loads_nothing(plain: str) -> None:
    shape = Shape(plain)
    forbidden = {"script", "iframe", "link", "object", "embed", "img", "base", "form", "image"}
    assert not forbidden & set(shape.elements)
    assert all(reference.startswith("#") for reference in shape.references)
    assert not [name for _, name in shape.attributes if name.startswith("on")]
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", plain)


def test_the_page_says_its_encoding_first_and_is_whole(plain: str) -> None:
    assert plain.startswith("<!DOCTYPE html>")
    assert '<meta charset="utf-8">' in plain[:200]
    assert plain.rstrip().endswith("</html>")


def test_the_page_holds_the_answers_the_charts_and_room_to_sign(plain: str) -> None:
    text = " ".join("".join(Shape(plain).text).split())
    for said in (
        "Bag held: tight by 5 times",
        "Gelled 55 min after mixing",
        "Made by, date",
        "What this page does not vouch for",
        "peroxide",
        "Styrene",
        "licensed practice",
    ):
        assert said in text
    assert Shape(plain).elements["svg"] == 2


def test_the_same_record_gives_the_same_bytes(tmp_path: Path) -> None:
    folder = closed_job(tmp_path)
    assert page_of(folder) == page_of(folder)


def test_ids_are_unique_on_the_page(plain: str) -> None:
    names = re.findall(r'\bid="([^"]*)"', plain)
    assert len(names) == len(set(names))


def test_hostile_text_adds_no_element_and_no_attribute_and_can_still_be_read(
    tmp_path: Path,
) -> None:
    texts = hostile_strings()
    harmless, hostile = (
        Shape(_noted_page(tmp_path / name, notes, part))
        for name, notes, part in (
            ("harmless", ("word",) * len(texts), PART),
            ("hostile", texts, "".join(texts[:3])[:200]),
        )
    )
    # An empty note is no note, and a long name is set smaller.
    free = {"span": sum(not brief(text, LONGEST_TEXT) for text in texts) + 3, "h1": 3}
    assert set(hostile.elements) == set(harmless.elements)
    for tag, count in hostile.elements.items():
        assert abs(count - harmless.elements[tag]) <= free.get(tag, 0), tag
    assert set(hostile.attributes) - {("h1", "class")} <= set(harmless.attributes)
    assert hostile.remarks == harmless.remarks == 0
    text = "".join(hostile.text)
    assert steering_in(text) == []
    assert [note for note in texts if brief(note, LONGEST_TEXT) not in text] == []


@pytest.mark.parametrize("text", MARKUP)
def test_markup_in_the_name_of_a_part_is_read_and_not_obeyed(plain: str, text: str) -> None:
    report = built(replace(facts_of(whole()), part=text))
    page = render(report, draw(report.pictures))
    sound = Shape(plain)
    assert set(Shape(page).elements) <= set(sound.elements)
    assert {name for _, name in Shape(page).attributes} <= {name for _, name in sound.attributes}
    assert brief(text, LONGEST_TEXT) in "".join(Shape(page).text)


def _noted_page(base: Path, notes: tuple[str, ...], part: str) -> str:
    folder = make_folder(base, part=part)
    writer = open_writer(folder)
    said = [mark(400.0 + number, "pump_on", note) for number, note in enumerate(notes)]
    fill(writer, [*whole_job(notes[0]), *said], frames(0, 60))
    writer.close()
    return page_of(folder)


def test_text_that_can_be_read_comes_through_as_it_was_written(tmp_path: Path) -> None:
    note = 'a < b & "c" \u2013 d\u00fcnn, 5 > 4, <b>fett</b>'
    folder = closed_job(tmp_path, note=note)
    assert note in "".join(Shape(page_of(folder)).text)


def test_a_job_that_runs_has_a_page_and_is_not_disturbed(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    fill(writer, whole_job()[:2], frames(0, 1800))
    page = page_of(folder)
    fill(writer, whole_job()[2:], frames(1800, 3600))
    assert writer.trouble == ""
    writer.close()
    assert "Report of a job that still runs" in page
    assert "The job had not ended when this page was made." in page
    assert "Post-cure report" in page_of(folder)


def test_a_job_of_nothing_but_marks_has_a_page(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    fill(writer, [mark(10.0, "mixed"), mark(20.0, "bag_closed")], frames(0, 0))
    writer.close()
    text = "".join(Shape(page_of(folder)).text)
    assert "resin mixed" in text
    assert "not measured" in text


def test_a_record_without_any_row_has_a_page(tmp_path: Path) -> None:
    assert "Bag not proven" in page_of(make_folder(tmp_path))


def test_people_are_named_in_the_appendix_and_not_on_the_first_page(plain: str) -> None:
    first, appendix = plain.split('<article class="appendix">')
    assert "M. Faber" not in first
    assert "M. Faber" in appendix


def test_alarms_of_a_pulled_cable_are_one_line_on_the_page(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    fill(writer, [*whole_job(), *two_alarms()], frames())
    writer.close()
    first = page_of(folder).split('<article class="appendix">')[0]
    assert first.count("<b>sensor fault</b> bag, part1 and shop") == 1
    assert "after 60\u00a0s, panel" in first


def test_a_changed_row_stops_the_report_and_names_itself(tmp_path: Path) -> None:
    folder = closed_job(tmp_path)
    with closing(sqlite3.connect(folder / "record.sqlite")) as connection:
        row = connection.execute("SELECT * FROM frame_0 WHERE n = 3000").fetchone()
        changed = (*row[:2], row[2] + 1, *row[3:-1])
        assert checked("frame_0", changed) != row
        connection.execute("UPDATE frame_0 SET bag_dpa = bag_dpa + 1 WHERE n = 3000")
        connection.commit()
    with pytest.raises(RecordError, match="row 3000 of frame_0 does not fit its check"):
        page_of(folder)


def test_two_charts_of_the_same_numbers_share_no_name() -> None:
    picture = built(facts_of(whole())).pictures.whole
    one, other = (draw_picture(picture, salt=salt) for salt in ("one", "other"))
    names = [set(re.findall(r'\bid="([^"]*)"', chart)) for chart in (one, other)]
    assert names[0] and not names[0] & names[1]


def test_the_batch_sheet_keeps_its_lines_and_columns_and_steers_nothing() -> None:
    sheet = "RESIN      192 g\n           <b>52 drops</b>\x1b[31m\n" + "x" * 2 * LONGEST_TEXT
    facts = replace(facts_of(()), plan_sheet=sheet)
    report = built(facts)
    page = render(report, draw(report.pictures))
    assert "RESIN      192 g\n           &lt;b&gt;52 drops&lt;/b&gt;[31m\nxxx" in page
    assert "x" * 2 * LONGEST_TEXT in page
    bare = built(facts_of(()))
    assert "Batch sheet" not in render(bare, draw(bare.pictures))
