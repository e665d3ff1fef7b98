"""The program's own version, as installed."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

try:
    VERSION = version("bagvigil")
except PackageNotFoundError:  # run from a tree that nobody installed
    VERSION = "0+tree"
