import json

import pytest

from analyzer.reports import report_bytes


@pytest.fixture
def report(audit):
    """The stored report of the invented class."""
    return json.loads(report_bytes(audit))


@pytest.fixture
def hostile(build, hostile_text):
    """The same with markup, escapes and other scripts where words stand."""
    return json.loads(report_bytes(build(hostile_text)))
