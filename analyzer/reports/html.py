"""What every page of the tool shares: the template engine, the Content-Security-Policy, quantities in words.

A page is one self-contained file: no network, no outside file, nothing run but its own hashed script. Whatever a
recording or a plan says is escaped by the template engine; drawings escape their own words.
"""

from __future__ import annotations

import base64
import functools
import hashlib
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from analyzer.model.clock import clock
from analyzer.reports.digest import where
from analyzer.reports.glyphs import glyph
from analyzer.reports.plain import late, safe_text, seconds_words


def content_policy(script: str, style: str) -> str:
    """Return the page's Content-Security-Policy: its own script and style by hash, a picked video, nothing else."""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "media-src blob:; base-uri 'none'; form-action 'none'"
    )


def quantity(value: float | None, unit: str | None) -> str:
    """Return a measured value with its unit as a reader says it.

    >>> quantity(46.0, "s"), quantity(2, "rounds"), quantity(1, "rounds"), quantity(0.5, "share"), quantity(None, "s")
    ('46 s', '2 rounds', '1 round', '50 %', '\u2014')
    """
    if value is None or value != value:
        return "\u2014"
    if unit == "s":
        return seconds_words(float(value))
    if unit == "share":
        value, unit = 100 * value, "%"
    number = f"{round(float(value), 1):g}".replace("-", "\u2212")
    if unit and number == "1" and len(unit) > 1 and unit.endswith("s"):
        unit = unit[:-1]
    return f"{number} {unit}" if unit else number


@functools.cache
def part(name: str, package: str = "analyzer.reports") -> str:
    """Return a file of a package's templates; folders in ``name`` are parted by a slash."""
    return resources.files(package).joinpath("templates", *name.split("/")).read_text(encoding="utf-8")


def template(name: str, package: str = "analyzer.reports") -> jinja2.Template:
    """Return a page's template: everything put into it is escaped, control characters are replaced."""
    return _environment(package).get_template(name)


@functools.cache
def _environment(package: str) -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(lambda name: part(name, package)),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_printable,
    )
    environment.filters |= {
        "clock": clock,
        "seconds": seconds_words,
        "late": late,
        "where": where,
        "quantity": quantity,
    }
    environment.globals["glyph"] = glyph
    return environment


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def _printable(value: Any) -> Any:
    return safe_text(value) if isinstance(value, str) and not isinstance(value, Markup) else value
