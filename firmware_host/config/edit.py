"""Sets keys in the text of a TOML file and leaves every other letter where it was. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping

from firmware_host.config.template import toml_value
from firmware_host.config.toml_text import KeyPath, parse

_VALUE = re.compile(r"^(\s*[^=]+=\s*)([^#]*?)(\s*(?:#.*)?)$")


def with_keys(text: str, name: str, path: KeyPath, keys: Mapping[str, object]) -> str:
    r"""Return the text with keys of one table set; new ones follow the table's heading.

    `name` is the file's, for a problem. A table that is not there is added at the end.

    >>> with_keys("[bag]\nfree_volume_l = 3.0  # guessed\n", "job.toml", ("bag",),
    ...           {"free_volume_l": 2.5})
    '[bag]\nfree_volume_l = 2.5  # guessed\n'
    """
    source = parse(text, name)
    lines = text.splitlines(keepends=True)
    if path not in source.lines:
        start = "" if not text or text.endswith("\n") else "\n"
        new = [f"{key} = {toml_value(value)}\n" for key, value in keys.items()]
        return "".join([text, start, f"[{path[0]}]\n", *new])
    added = []
    for key, value in keys.items():
        at = source.lines.get((*path, key))
        if at is None:
            added.append(f"{key} = {toml_value(value)}\n")
        else:
            lines[at - 1] = _set(lines[at - 1], toml_value(value))
    heading = source.lines[path]
    return "".join([*lines[:heading], *added, *lines[heading:]])


def _set(line: str, value: str) -> str:
    """Replace the value of one line, its comment kept."""
    bare = line.rstrip("\r\n")
    return _VALUE.sub(lambda found: found[1] + value + found[3], bare) + line[len(bare) :]
