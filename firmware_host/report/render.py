"""The report as one HTML page, and the same page as PDF.

Whatever the template prints goes through one gate: characters that steer a screen are taken out,
and everything but our own charts is escaped. The page loads nothing from anywhere.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from importlib import import_module
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from firmware_host.errors import InputError
from firmware_host.report.build import Report
from firmware_host.report.words import brief, clean

LONGEST_TEXT = 600
"""A note may have 500 letters; whatever is longer is no text that a person wrote."""


def render(report: Report, charts: tuple[str, str | None, tuple[str, ...]]) -> str:
    """Make the page; `charts` are SVG elements drawn by us."""
    whole, early, tests = charts
    return (
        _environment()
        .get_template("report.html.j2")
        .render(
            report=report,
            chart=Markup(whole),  # noqa: S704 - drawn by us, from numbers and channel names
            early=None if early is None else Markup(early),  # noqa: S704 - drawn by us
            test_charts=[Markup(one) for one in tests],  # noqa: S704 - drawn by us
        )
    )


@functools.cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("firmware_host.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_gate,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["brief"] = brief
    environment.filters["laid_out"] = _laid_out
    return environment


def _laid_out(text: str) -> Markup:
    """Keep the lines and the spaces of a text that is a table; each line passes the gate."""
    return Markup("\n").join(clean(line) for line in text.splitlines())


def _gate(value: Any) -> Any:  # noqa: ANN401 - whatever the template prints
    if isinstance(value, Markup):
        return value
    return brief(value, LONGEST_TEXT) if isinstance(value, str) else clean(str(value))


def pdf_printer() -> Callable[[str], bytes]:
    """Give what prints a page to PDF. Raises InputError where its extra is not installed."""
    try:
        html: Any = import_module("weasyprint").HTML
    except (ImportError, OSError) as error:  # OSError: its system libraries are missing
        raise InputError(
            [
                f"--pdf needs WeasyPrint, which cannot be used here ({error}). Install it with "
                "pip install 'bagvigil[pdf]', or print the page from a browser."
            ]
        ) from None

    def to_pdf(page: str) -> bytes:
        return bytes(html(string=page, url_fetcher=_refuse).write_pdf() or b"")

    return to_pdf


def _refuse(url: str, *_: object, **__: object) -> dict[str, Any]:
    raise ValueError(f"the page may load nothing, and asked for {url[:80]}")
