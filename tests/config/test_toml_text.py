from __future__ import annotations

import os
from pathlib import Path

import pytest

from firmware_host.config.toml_text import LARGEST_FILE_BYTES, parse, read_text
from firmware_host.errors import InputError


def test_a_key_is_found_on_its_line() -> None:
    text = "# top\n[bag]\na = 1\n\n[[channel]]\nb = 2\n[[channel]]\n'c d' = 3\nb = 4\n"
    source = parse(text, "x.toml")
    paths = [
        ("bag",),
        ("bag", "a"),
        ("channel", 0, "b"),
        ("channel", 1, "c d"),
        ("channel", 1, "b"),
    ]
    assert [source.line_of(path) for path in paths] == [2, 3, 6, 8, 9]


def test_a_key_that_the_file_does_not_hold_stands_at_its_table() -> None:
    source = parse("\n[bag]\na = 1\n", "x.toml")
    assert source.line_of(("bag", "free_volume_l")) == 2
    assert source.line_of(("cup", "resin_g")) is None


def test_a_key_inside_a_long_text_is_not_taken_for_one() -> None:
    source = parse('[a]\nt = """\n[bag]\nx = 1\n"""\n[bag]\nx = 2\n', "x.toml")
    assert source.line_of(("bag", "x")) == 7


def test_a_key_of_an_inline_table_is_found_at_the_table() -> None:
    assert parse("\nbag = { x = 1 }\n", "x.toml").line_of(("bag", "x")) == 2


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a = 1\nb = ,\n", r"^x\.toml line 2, column 5: Invalid value\."),
        ("a = [1", r"^x\.toml, at its end: .* left open\.$"),
        ("a = " + "[" * 5000, r"^x\.toml: brackets are nested too deeply"),
        ("a = 1" + "0" * 5000, r"^x\.toml: Exceeds the limit"),
        ("a = 1\na = 2\n\n", r"^x\.toml line 2"),
    ],
)
def test_a_syntax_error_names_its_place(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse(text, "x.toml")


def test_a_folder_is_not_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is a folder\. Name the TOML file itself\."):
        read_text(tmp_path)


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(InputError, match="is not a regular file"):
        read_text(path)


def test_text_in_another_encoding_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes('[job]\npart = "Lüfter"\n'.encode("latin-1"))
    with pytest.raises(InputError, match=r"is not UTF-8 text \(byte 15\)\. Save it as UTF-8"):
        read_text(path)


def test_a_file_just_within_the_limit_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"#" * LARGEST_FILE_BYTES)
    assert len(read_text(path)) == LARGEST_FILE_BYTES
    path.write_bytes(b"#" * (LARGEST_FILE_BYTES + 1))
    with pytest.raises(InputError, match="is larger than 1 MB"):
        read_text(path)


def test_a_name_that_no_file_can_have_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_text("a\0b")
