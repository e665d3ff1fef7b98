from __future__ import annotations

import hashlib
import sys
import types
from pathlib import Path

import pytest

from firmware_host.cli import main
from firmware_host.clock import ManualClock
from firmware_host.commands import report_folder
from firmware_host.outputs.attachment import attachments
from firmware_host.outputs.record_reader import open_record
from tests.report.parts import (
    closed_job,
    fill,
    frames,
    make_folder,
    mark,
    open_writer,
    whole_job,
)


def names(folder: Path) -> list[str]:
    return sorted(held.name for held in folder.iterdir())


def kept(folder: Path) -> list[bytes]:
    with open_record(folder) as record:
        return [one.body for one in attachments(record)]


def test_the_page_is_written_named_and_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = closed_job(tmp_path)
    assert main(["report", str(folder)]) == 0
    page = folder / "report.html"
    assert capsys.readouterr() == (f"{page}\n", "")
    assert names(folder) == ["job.toml", "record.sqlite", "report.html"]
    assert kept(folder) == [page.read_bytes()]


def test_a_second_report_of_the_same_record_changes_nothing(tmp_path: Path) -> None:
    folder = closed_job(tmp_path)
    assert main(["report", str(folder)]) == 0
    before = [(held.name, held.read_bytes()) for held in sorted(folder.iterdir())]
    assert main(["report", str(folder)]) == 0
    assert [(held.name, held.read_bytes()) for held in sorted(folder.iterdir())] == before
    assert main(["verify", str(folder)]) == 0


def test_the_page_of_a_longer_record_names_the_one_before(tmp_path: Path) -> None:
    folder = closed_job(tmp_path)
    assert main(["report", str(folder)]) == 0
    first = hashlib.sha256((folder / "report.html").read_bytes()).hexdigest()
    writer = open_writer(folder)
    fill(writer, [mark(7300.0, "note", "edge touched up")], frames(7201, 7400))
    writer.close()
    assert main(["report", str(folder)]) == 0
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert f"{first}, made of " in page
    assert len(kept(folder)) == 2
    assert main(["report", str(folder)]) == 0
    assert (folder / "report.html").read_text(encoding="utf-8") == page
    assert len(kept(folder)) == 2
    assert main(["verify", str(folder)]) == 0


def test_the_page_says_where_the_record_stood(tmp_path: Path) -> None:
    folder = closed_job(tmp_path)
    assert main(["report", str(folder)]) == 0
    with open_record(folder) as record:
        rows = [record.last_row(table) for table in (*record.input_tables, "event")]
    *inputs, event = [row for row in rows if row is not None]
    last = max(inputs, key=lambda row: row.number)
    head = (
        f"input {last.number} check {last.crc & 0xFFFFFFFF:08X}, "
        f"event {event.number} check {event.crc & 0xFFFFFFFF:08X}"
    )
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert page.count(head) == 2  # on the first page, and among the facts of the record


def test_a_live_folder_gets_its_page_and_its_record_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    fill(writer, whole_job()[:2], frames(0, 1800))
    assert main(["report", str(folder)]) == 0
    assert "its daemon takes the page in when it stops" in capsys.readouterr().err
    assert (folder / "report.html").is_file()
    writer.close()
    assert kept(folder) == []


@pytest.mark.parametrize("name", ["empty", "gone"])
def test_a_folder_without_a_record_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    (tmp_path / "empty").mkdir()
    assert main(["report", str(tmp_path / name)]) == 1
    assert "does not exist; name a job folder" in capsys.readouterr().err


def test_a_job_description_that_was_changed_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = closed_job(tmp_path)
    with (folder / "job.toml").open("a") as file:
        file.write("# mine\n")
    assert main(["report", str(folder)]) == 1
    assert "is not the text that was poured" in capsys.readouterr().err
    assert "report.html" not in names(folder)


def test_no_folder_is_a_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["report"])
    assert ended.value.code == 2
    assert "FOLDER" in capsys.readouterr().err


def test_a_pdf_without_its_extra_names_the_extra_before_any_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    folder = closed_job(tmp_path)
    assert main(["report", "--pdf", str(folder)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "pip install 'bagvigil[pdf]'" in said.err
    assert names(folder) == ["job.toml", "record.sqlite"]


class Printer:
    """Stands in for the printer: prints the page's length, and tries to load something."""

    refused = ""

    def __init__(self, string: str, url_fetcher: types.FunctionType) -> None:
        self._page = string
        try:
            url_fetcher("http://example.org/x.css")
        except ValueError as error:
            Printer.refused = str(error)

    def write_pdf(self) -> bytes:
        return b"%%PDF %d" % len(self._page)


def test_a_pdf_is_printed_from_the_same_page_and_may_load_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printer = types.ModuleType("weasyprint")
    printer.HTML = Printer  # type: ignore[attr-defined]  # a stand-in has no such name of its own
    monkeypatch.setitem(sys.modules, "weasyprint", printer)
    folder = closed_job(tmp_path)
    assert main(["report", "--pdf", str(folder)]) == 0
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert (folder / "report.pdf").read_bytes() == b"%%PDF %d" % len(page)
    assert Printer.refused == "the page may load nothing, and asked for http://example.org/x.css"


def test_a_report_that_is_stopped_leaves_the_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = closed_job(tmp_path)
    assert main(["report", str(folder)]) == 0
    before = [(held.name, held.read_bytes()) for held in sorted(folder.iterdir())]

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(report_folder, "render", stop)
    assert main(["report", str(folder)]) == 3
    assert [(held.name, held.read_bytes()) for held in sorted(folder.iterdir())] == before


def test_the_end_of_a_job_is_waited_for_and_no_longer_than_asked(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    clock = ManualClock()
    report_folder.wait_for_end(folder, 60.0, clock)
    assert clock.monotonic_s() == 60.0
    over = closed_job(tmp_path / "over")
    report_folder.wait_for_end(over, 60.0, clock)
    assert clock.monotonic_s() == 60.0


def test_nothing_is_waited_for_where_nobody_asked() -> None:
    report_folder.wait_for_end(Path("not there"), 0.0, ManualClock())
