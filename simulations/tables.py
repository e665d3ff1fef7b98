"""Read a TOML table into a frozen settings record: every problem at once, nothing guessed.

Types and bounds are those beside the record's fields; an unknown key is an error with the nearest
spelling.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, fields
from difflib import get_close_matches
from typing import Any, TypeVar, get_type_hints

import msgspec

_Record = TypeVar("_Record")


class ScenarioError(ValueError):
    """A scenario file is wrong; carries every problem found."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problems))


def nearest(word: str, known: list[str]) -> str:
    """Name the nearest known spelling, as the end of a message."""
    close = get_close_matches(word, known, n=1)
    return f". Did you mean {close[0]!r}?" if close else f"; known: {', '.join(known)}"


def read_table(
    kind: type[_Record], values: Mapping[str, object], where: str, problems: list[str]
) -> _Record | None:
    """Build one record from a table; None, with what is wrong added to `problems`, if it cannot."""
    before = len(problems)
    hints = get_type_hints(kind, include_extras=True)
    known: list[Field[Any]] = list(fields(kind))  # type: ignore[arg-type]  # kind is a dataclass by construction
    names = [field.name for field in known]
    problems.extend(
        f"{where} has no option {key!r}{nearest(key, names)}" for key in values if key not in names
    )
    taken = {}
    for field in known:
        if field.name in values:
            taken[field.name] = _value(
                values[field.name], hints[field.name], where, field, problems
            )
        elif field.default is MISSING and field.default_factory is MISSING:
            problems.append(f"{where} needs {field.name}")
    return kind(**taken) if len(problems) == before else None


def _value(
    value: object, hint: object, where: str, field: Field[Any], problems: list[str]
) -> object:
    try:
        return msgspec.convert(value, hint)
    except msgspec.ValidationError as wrong:
        text = str(wrong)
        problems.append(f"{where} {field.name} = {value!r}: {text[0].lower()}{text[1:]}")
        return None
