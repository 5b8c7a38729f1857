import shlex
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from analyzer.model.audit import Waiver
from analyzer.reports import report_dict, summary_text, validate_report
from analyzer.reports.digest import verdict_words, waive_command
from analyzer.reports.page import report_html


class Words(HTMLParser):
    """Collects the text of a page, and its elements."""

    def __init__(self, page):
        super().__init__()
        self.text, self.tags = "", []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)

    def handle_data(self, data):
        self.text += data


def stale(audit, *ids, reason="since cut"):
    return replace(audit, stale=tuple(Waiver(i, reason) for i in ids))


@pytest.mark.parametrize(
    ("ids", "told"),
    [
        ((), None),
        (("a1",), " 1 waiver is stale: a1."),
        (("a1", "b2"), " 2 waivers are stale: a1 and b2."),
        (("a1", "b2", "c3", "d4"), " 4 waivers are stale: a1, b2 and 2 more."),
    ],
)
def test_stale_ones_are_told_with_the_verdict(audit, ids, told):
    sentence = verdict_words(stale(audit, *ids))[1]
    assert sentence.endswith(told or "1 waived.")
    assert " ".join(summary_text(stale(audit, *ids)).split()).find(sentence) > 0


def test_the_page_lists_stale_waivers_as_text(audit, hostile_text):
    clean = Words(report_html(audit))
    page = Words(report_html(stale(audit, "0000000000ff", reason=hostile_text)))
    assert "Stale waivers" not in clean.text
    assert "Stale waivers" in page.text
    assert "0000000000ff" in page.text
    assert "<script>alert('x')</script>" in page.text
    assert page.tags.count("script") == clean.tags.count("script")


def test_the_page_has_the_command_for_each_finding_that_is_not_waived(audit):
    text = Words(report_html(audit)).text
    for finding in audit.findings:
        assert text.count(f"class-analyzer waive {finding.id} ") == (finding.waived is None)
    assert "Waived: voice-over follows" in text


@pytest.mark.parametrize("name", ["plan.yaml", "my plan.yaml", "it's; rm -rf $HOME.yaml", "/home/somebody/plan.yaml"])
def test_the_command_is_safe_to_paste(audit, name):
    finding = audit.findings[0]
    words = shlex.split(waive_command(finding, replace(audit, plan=replace(audit.plan, name=name))))
    assert words == [
        *("class-analyzer", "waive", finding.id, "--plan", name.rsplit("/", 1)[-1]),
        *("--reason", "why it may stay"),
    ]


def test_stale_waivers_are_in_the_data(audit, hostile_text):
    report = report_dict(stale(audit, "0000000000ff", reason=hostile_text))
    assert validate_report(report) == ()
    assert report["stale_waivers"][0]["finding"] == "0000000000ff"
    del report["stale_waivers"]  # a report from before it was there
    assert validate_report(report) == ()
