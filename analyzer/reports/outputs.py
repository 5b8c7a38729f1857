"""Which files a report is made of: each kind is rendered whole in memory before any of it is written."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from analyzer.model.audit import Audit
from analyzer.reports.report_json import report_bytes
from analyzer.reports.tables import table_files

Files = dict[str, bytes]


def _json_files(audit: Audit) -> Files:
    return {"report.json": report_bytes(audit)}


def _html_files(audit: Audit) -> Files:
    from analyzer.reports.page import report_html  # the template engine is only paid for when asked

    return {"report.html": report_html(audit).encode("utf-8")}


def _fix_files(audit: Audit) -> Files:
    from analyzer.reports.fixes import fixes_text

    return {"fixes.md": fixes_text(audit).encode("utf-8")}


def _figure_files(audit: Audit) -> Files:
    from analyzer.reports.figures import figure_files  # matplotlib is only paid for when asked

    return figure_files(audit)


_RENDERERS: dict[str, Callable[[Audit], Files]] = {
    "json": _json_files,
    "csv": table_files,
    "html": _html_files,
    "fixes": _fix_files,
    "figures": _figure_files,
}

KINDS: tuple[str, ...] = tuple(_RENDERERS)


def render_files(audit: Audit, kinds: Iterable[str] = KINDS) -> Files:
    """Return the content of every output file by name, for the ``kinds`` asked (see :data:`KINDS`).

    Raises KeyError for a kind that does not exist.
    """
    files: Files = {}
    for kind in kinds:
        files |= _RENDERERS[kind](audit)
    return files
