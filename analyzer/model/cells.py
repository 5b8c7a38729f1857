"""Text in a spreadsheet's cell: what a spreadsheet could run as a formula."""

from __future__ import annotations

FORMULA_STARTS = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20\ufe62\ufe63\ufe66\ufe6b\u2212")
"""First characters that can start a formula: ``= + - @``, tab, carriage return or line feed (OWASP, CSV Injection;
ASVS 1.2.10), or a full-width form of the first four."""
