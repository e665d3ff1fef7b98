"""Read a TOML file and remember on which line each key stands, so that a problem can say so.

The parser tells no positions of good values; a scan of the text finds them. Where the scan is
defeated (a key inside a text of many lines), the line of the table is given, or none.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from firmware_host.errors import InputError

LARGEST_FILE_BYTES = 1_000_000
"""A job or bench file holds a few kB; a bigger one is the wrong file."""

KeyPath = tuple[str | int, ...]
"""Where a value stands: `("bag", "free_volume_l")`, `("channel", 2, "port")`."""

_HEADER = re.compile(r"\s*\[(\[?)\s*([^\[\]]+?)\s*\]")
_KEY = re.compile(r"""\s*([A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*[=.]""")
_LONG_TEXT = re.compile(r"\"\"\"|" + "'''")
_POSITION = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True, slots=True)
class TomlText:
    """A parsed file, its name as the person typed it, and where its keys stand."""

    name: str
    values: dict[str, Any]
    lines: dict[KeyPath, int] = field(repr=False)

    def line_of(self, path: KeyPath) -> int | None:
        """Line of a key, else of the table around it; None where the file does not name either."""
        while path:
            for place in (path, (*path, 0)):
                if place in self.lines:
                    return self.lines[place]
            path = path[:-1]
        return None


def read_text(path: str | Path) -> str:
    """Read a whole small text file. Raises InputError when it cannot be one."""
    try:
        return _bytes_of(Path(path)).decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(
            [f"{path} is not UTF-8 text (byte {error.start}). Save it as UTF-8 and try again."]
        ) from None
    except FileNotFoundError:
        problem = "does not exist. Check the name; `bagvigil new` writes a job file."
    except PermissionError:
        problem = "may not be read by this user. Change its owner or its mode."
    except (OSError, ValueError) as error:
        problem = f"cannot be read: {error}."
    raise InputError([f"{path} {problem}"])


def _bytes_of(path: Path) -> bytes:
    if path.exists() and not path.is_file():
        kind = "a folder" if path.is_dir() else "not a regular file"
        raise InputError([f"{path} is {kind}. Name the TOML file itself."])
    with path.open("rb") as source:
        content = source.read(LARGEST_FILE_BYTES + 1)
    if len(content) > LARGEST_FILE_BYTES:
        raise InputError([f"{path} is larger than 1 MB; such a file is no job or bench file."])
    return content


def parse(text: str, name: str) -> TomlText:
    """Parse TOML. Raises InputError with line and column of a syntax error."""
    text = text.removeprefix("\ufeff")
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax_problem(name, str(error))]) from None
    except RecursionError:
        raise InputError([f"{name}: brackets are nested too deeply. Take the line out."]) from None
    except ValueError as error:
        raise InputError([f"{name}: {error}. Mend the value and try again."]) from None
    return TomlText(name, values, _key_lines(text))


def _syntax_problem(name: str, message: str) -> str:
    found = _POSITION.search(message)
    what = _POSITION.sub("", message)
    if found is None or found[1] is None:
        return f"{name}, at its end: {what}. A quote or bracket may be left open."
    place = f"{name} line {found[1]}, column {found[2]}"
    return f"{place}: {what}. Text stands in quotes, numbers use a decimal point."


def _key_lines(text: str) -> dict[KeyPath, int]:
    lines: dict[KeyPath, int] = {}
    table: KeyPath = ()
    counts: dict[str, int] = {}
    inside_text = False
    for number, line in enumerate(text.split("\n"), start=1):
        if not inside_text:
            header, key = _HEADER.match(line), _KEY.match(line)
            if header is not None:
                table = _table_path(header, counts)
                lines.setdefault(table, number)
            elif key is not None:
                lines.setdefault((*table, key[1].strip("\"'")), number)
        inside_text ^= len(_LONG_TEXT.findall(line)) % 2 == 1
    return lines


def _table_path(header: re.Match[str], counts: dict[str, int]) -> KeyPath:
    name = header[2]
    parts = tuple(part.strip().strip("\"'") for part in name.split("."))
    if not header[1]:
        return parts
    counts[name] = counts.get(name, -1) + 1
    return (*parts, counts[name])
