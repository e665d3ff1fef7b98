"""The tables a file may hold, read off the schema's root types."""

from __future__ import annotations

from typing import Any, get_args, get_origin, get_type_hints

NOT_IN_FILES = frozenset({"assumed"})
"""Fields of the roots that the loader fills in itself."""


def tables_of(root: type) -> dict[str, type]:
    """Type of each table by its name; of one entry, where it comes as [[name]]."""
    hints = get_type_hints(root)
    return {name: _table_type(hint) for name, hint in hints.items() if name not in NOT_IN_FILES}


def lists_of(root: type) -> frozenset[str]:
    """Names of the tables that come as [[name]], once per entry."""
    hints = get_type_hints(root)
    return frozenset(name for name, hint in hints.items() if get_origin(hint) is tuple)


def _table_type(hint: Any) -> type:  # noqa: ANN401 - any type hint
    kind: type = hint if get_origin(hint) is None else get_args(hint)[0]
    return kind
