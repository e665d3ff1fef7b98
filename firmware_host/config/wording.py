"""Plain words for what a key may hold and for what a file gave instead."""

from __future__ import annotations

import difflib
import types
from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Union, get_args, get_origin

from msgspec import Meta

LONGEST_SHOWN = 60
"""Characters of a value that a message repeats."""

_BASE_WORDS = {
    float: "a number",
    int: "a whole number",
    bool: "true or false",
    str: 'text in "quotes"',
    date: "a date like 2026-03-01",
}


def expectation(hint: Any, given: object = None) -> str:  # noqa: ANN401 - any type hint
    """Words for what a field's hint admits; bounds alone where `given` is already a number.

    >>> expectation(Annotated[float, Meta(gt=0.0)], -3.0)
    'above 0'
    """
    base, meta = parts_of(hint)
    if meta is not None and meta.description:
        return meta.description
    if isinstance(base, type) and issubclass(base, StrEnum):
        return "one of " + ", ".join(base)
    if get_origin(base) is tuple:
        return (
            f"{len(get_args(base))} numbers in brackets, each {expectation(get_args(base)[0], 0.0)}"
        )
    bounds = _bounds(meta, "characters" if base is str else "")
    word = _BASE_WORDS[base]
    right_kind = isinstance(given, (base, int)) and not isinstance(given, bool)
    if bounds and right_kind:
        return bounds
    return f"{word} {bounds}".strip()


def parts_of(hint: Any) -> tuple[Any, Meta | None]:  # noqa: ANN401 - any type hint
    """Bare type and bounds of a hint, `| None` left out."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next(part for part in get_args(hint) if part is not type(None))
    if get_origin(hint) is Annotated:
        base, *extras = get_args(hint)
        return base, next((one for one in extras if isinstance(one, Meta)), None)
    return hint, None


def _bounds(meta: Meta | None, unit: str) -> str:
    if meta is None:
        return ""
    words = [
        ("above", meta.gt),
        ("at least", meta.ge if meta.min_length is None else meta.min_length),
        ("below", meta.lt),
        ("at most", meta.le if meta.max_length is None else meta.max_length),
    ]
    said = " and ".join(f"{word} {limit:g}" for word, limit in words if limit is not None)
    return f"{said} {unit}".strip() if said else ""


def shown(value: object) -> str:
    """Write a value as a person would in the file, short and safe to print."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, str):
        return _shortened(quoted(value))
    if isinstance(value, list | tuple):
        return _shortened("[" + ", ".join(shown(one) for one in value[:8]) + "]")
    if isinstance(value, int) and abs(value) >= 10**18:
        return "a huge whole number"
    return str(value)


def plain(key: str) -> str:
    """Write a key without quotes where it needs none, short and safe to print."""
    bare = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
    return _shortened(key if bare else quoted(key))


def quoted(text: str) -> str:
    r"""Write text between double quotes, every character visible; it is a TOML string too.

    >>> quoted('the "wet" side')
    '"the \\"wet\\" side"'
    """
    return '"' + "".join(_visible(one) for one in text) + '"'


def _visible(character: str) -> str:
    if character in '"\\':
        return "\\" + character
    if character.isprintable():
        return character
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."


def nearest(word: str, known: Iterable[str]) -> str:
    """Ask about the nearest spelling, or say nothing; begins with a space.

    >>> nearest("free_volume_litre", ["free_volume_l", "drop_rule"])
    ' Did you mean free_volume_l?'
    """
    close = difflib.get_close_matches(word[:LONGEST_SHOWN], list(known), n=1, cutoff=0.6)
    return f" Did you mean {close[0]}?" if close else ""
