"""Turn parsed TOML tables into the frozen values of the schema, collecting every problem.

Strict: no text becomes a number, NaN and infinity are refused, an unknown key is a problem. A
problem names file, line, key, value, limit and the next step.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Iterator, Mapping
from enum import StrEnum
from typing import Any, TypeVar, get_type_hints

import msgspec

from firmware_host.config.toml_text import KeyPath, TomlText
from firmware_host.config.wording import expectation, nearest, parts_of, plain, shown
from firmware_host.config.words import meaning
from firmware_host.errors import InputError

MOST_PROBLEMS = 40
"""Further ones are only counted: nobody mends more at a time."""

T = TypeVar("T")


class Reading:
    """One file on its way into the schema, with the problems found so far."""

    def __init__(self, source: TomlText, homes: Mapping[str, type]) -> None:
        self.source = source
        self._homes = homes
        self._problems: list[tuple[int, str]] = []
        self._more = 0

    def say(self, path: KeyPath, text: str) -> None:
        """Note a problem at a key or a table; `text` begins with what stands there."""
        line = self.source.line_of(path)
        place = self.source.name + (f" line {line}" if line is not None else "")
        problem = (line or 0, f"{place}: {text}")
        if problem in self._problems:
            return
        if self.full:
            self._more += 1
        else:
            self._problems.append(problem)

    def say_key(self, path: KeyPath, value: object, text: str) -> None:
        """Note that a key's value is wrong: `[bag] free_volume_l = -3.0 <text>`."""
        self.say(path, f"{_heading(path[:-1])} {path[-1]} = {shown(value)} {text}")

    def finish(self) -> None:
        """Raise InputError if there was any problem, in the order of the file."""
        if not self._problems:
            return
        texts = [text for _, text in sorted(self._problems, key=lambda problem: problem[0])]
        if self._more:
            texts.append(f"{self.source.name}: and {self._more} more problems.")
        raise InputError(texts)

    @property
    def full(self) -> bool:
        """Whether further problems are only counted."""
        return len(self._problems) >= MOST_PROBLEMS

    def check_table_names(self) -> None:
        """Note every top-level name that is no table of this kind of file."""
        for name in self.source.values:
            if name not in self._homes:
                text = f"there is no table [{plain(name)}]." + self._guess(name, list(self._homes))
                self.say((name,), text)

    def table(self, name: str) -> dict[str, Any] | None:
        """Give a table as parsed; None when absent or, with a problem noted, of another shape."""
        raw = self.source.values.get(name)
        if raw is None or isinstance(raw, dict):
            return raw
        self.say((name,), f"{name} must be a table: write [{name}] on a line of its own, once.")
        return None

    def rows(self, name: str) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
        """Each [[name]] with its path."""
        raw = self.source.values.get(name, [])
        if not isinstance(raw, list) or not all(isinstance(row, dict) for row in raw):
            self.say((name,), f"{name} must be written [[{name}]] on a line of its own, per entry.")
            return
        for number, row in enumerate(raw):
            yield (name, number), row

    def values(
        self, path: KeyPath, raw: Mapping[str, Any], kind: type, extra: Collection[str] = ()
    ) -> dict[str, Any]:
        """Good values of a table by field name; a problem for every other key."""
        hints = get_type_hints(kind, include_extras=True)
        fields = {one.name: one for one in dataclasses.fields(kind)}
        good: dict[str, Any] = {}
        for key, value in raw.items():
            if key in extra:
                continue
            if key not in fields:
                self._say_unknown(path, key, [*fields, *extra])
            elif (problem := _problem_of(value, hints[key])) is not None:
                self.say_key((*path, key), value, f"{problem} {_way_out(fields[key])}")
            else:
                good[key] = msgspec.convert(value, hints[key])
        return good

    def build(self, path: KeyPath, raw: Mapping[str, Any], kind: type[T]) -> T | None:
        """Make the whole table its schema type; None, with problems noted, when it cannot be."""
        good = self.values(path, raw, kind)
        missing = [name for name in required(kind) if name not in raw]
        for name in missing:
            self.say(path, f"{_heading(path)} has no {name}. {_how_to_give(path, name)}")
        if missing or any(name not in good for name in required(kind)):
            return None
        return kind(**good)

    def _say_unknown(self, path: KeyPath, key: str, known: list[str]) -> None:
        text = f"{_heading(path)} has no key {plain(key)}." + self._guess(key, known)
        self.say((*path, key), text)

    def _guess(self, word: str, known: list[str]) -> str:
        """Say what a word was meant to be that means nothing where it stands."""
        if self.full:
            return ""
        homes = [name for name, kind in self._homes.items() if word in field_names(kind)]
        if len(homes) == 1:
            return f" It belongs in [{homes[0]}]."
        return nearest(word, known) or f" Known here: {', '.join(known)}."


def required(kind: type) -> list[str]:
    """Names of the fields without a default."""
    return [
        one.name
        for one in dataclasses.fields(kind)
        if one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
    ]


def field_names(kind: type) -> list[str]:
    """Keys of a table in the order of the schema."""
    return [one.name for one in dataclasses.fields(kind)]


def _problem_of(value: object, hint: Any) -> str | None:  # noqa: ANN401 - any type hint
    if not _finite(value):
        return f"is not a number that can be meant; it must be {expectation(hint)}."
    if isinstance(value, str) and not value.isprintable():
        return "holds a character that cannot be shown; it must be one line of plain text."
    try:
        msgspec.convert(value, hint)
    except (msgspec.ValidationError, OverflowError):
        base, _ = parts_of(hint)
        guess = ""
        if isinstance(value, str) and isinstance(base, type) and issubclass(base, StrEnum):
            guess = nearest(value, base)
        return f"must be {expectation(hint, value)}.{guess}"
    return None


def _finite(value: object) -> bool:
    if isinstance(value, list):
        return all(_finite(one) for one in value)
    return not isinstance(value, float) or math.isfinite(value)


def _way_out(field: dataclasses.Field[Any]) -> str:
    if field.default is dataclasses.MISSING:
        return "Give another value; this key is needed."
    if field.default is None or field.default == "":
        return "Give another value, or take the line out."
    return f"Give another value, or take the line out to use {shown(field.default)}."


def _how_to_give(path: KeyPath, name: str) -> str:
    words = meaning(str(path[0]), name)
    return f"Add a line {name} = ... ({words})." if words else f"Add a line {name} = ..."


def _heading(path: KeyPath) -> str:
    if len(path) == 2 and isinstance(path[1], int):
        return f"[[{path[0]}]] number {path[1] + 1}:"
    return f"[{'.'.join(str(part) for part in path)}]"
