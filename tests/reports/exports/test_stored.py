import json

import pytest

from analyzer.model.errors import ReportError
from analyzer.reports import report_bytes, report_dict
from analyzer.reports.exports.stored import parse_report, read_report, report_path


def test_a_stored_report_comes_back_as_it_left(audit, tmp_path):
    path = tmp_path / "report.json"
    path.write_bytes(report_bytes(audit))
    assert read_report(report_path(tmp_path)) == report_dict(audit) == read_report(report_path(path))


def _changed(audit, **changes):
    return json.dumps(report_dict(audit) | changes).encode()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda audit: b"\xff\xfe{", "byte 0: is not UTF-8 text"),
        (lambda audit: b'{\n"schema": }', "line 2: is not JSON"),
        (lambda audit: b"[" * 100_000, "is not JSON that can be used"),
        (lambda audit: b"[1]", "is not a report of a class; its schema must be"),
        (lambda audit: _changed(audit, schema="another/report/1"), "is not a report of a class"),
        (lambda audit: _changed(audit, findings="none"), r"schema: \$\.findings"),
        (lambda audit: report_bytes(audit).replace(b'"words": ', b'"words": NaN, "more": '), "holds NaN"),
        (lambda audit: report_bytes(audit).replace(b'"words": ', b'"words": 1e999, "more": '), "holds 1e999"),
        (lambda audit: report_bytes(audit).replace(b'"words": ', b'"words": -1e10, "more": '), "holds -1e10"),
        (
            lambda audit: report_bytes(audit).replace(b'"words": ', b'"words": ' + b"9" * 5000 + b', "more": '),
            "holds 9999",
        ),
    ],
)
def test_what_is_no_report(audit, make, told):
    with pytest.raises(ReportError, match=told):
        parse_report(make(audit), "report.json")


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(ReportError, match=r"^report\.json: cannot be read \(No such file or directory\)"):
        read_report(report_path(tmp_path))
