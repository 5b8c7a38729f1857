import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from analyzer.library import compare_takes, comparison_text
from analyzer.library.compare import RULE
from analyzer.library.compare_html import comparison_html
from analyzer.reports.plain import columns
from tests.reports.synthetic import HOSTILE
from tests.reports.synthetic import audit as build


class Page(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.text, self.tags, self.attributes = "", [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data):
        self.text += data


def comparison(text="keep it up", takes=2):
    audits = [build(text, f"take-{n}.vtt") for n in range(1, takes + 1)]
    audits[-1] = replace(audits[-1], findings=audits[-1].findings[1:3])
    plan = replace(audits[0].plan, title=text * 2)
    return compare_takes([replace(audit, plan=plan) for audit in audits])


@pytest.mark.parametrize("text", ["keep it up", HOSTILE, "\u4f53\u64cd" * 80])
@pytest.mark.parametrize("takes", [2, 3, 5])
def test_the_text_fits_eighty_columns_and_steers_no_terminal(text, takes):
    told = comparison_text(comparison(text, takes), "out/compare.html")
    assert max(columns(line) for line in told.split("\n")) <= 80
    assert "\x1b" not in told
    assert "\u202e" not in told
    assert told.endswith("Page: out/compare.html\n")
    for number in range(1, takes + 1):
        assert f"take {number}" in told


def test_the_text_says_what_changed_and_by_which_rule():
    told = " ".join(comparison_text(comparison()).split())
    assert RULE in told
    assert "Findings from take 1 to take 2: 4 fixed, 0 new, 2 remaining" in told
    assert "Over the whole class: take 2, fewer or lighter findings." in told
    assert "2 Backpack row 40 s missing missing" in told
    assert "Page:" not in told


def test_the_page_holds_the_same_and_its_cautions():
    page = Page(comparison_html(comparison()))
    assert RULE in page.text
    assert "From take 1 to take 2: 4 fixed, 0 new, 2 remaining" in page.text
    assert "The right side got 12 s less than the left." in page.text
    assert "It is not medical advice." in page.text


def test_hostile_words_stay_words():
    plain, hostile = (Page(comparison_html(comparison(text))) for text in ("keep it up", HOSTILE))
    assert hostile.tags == plain.tags
    assert "script" not in hostile.tags
    assert "<script>alert('x')</script>" in hostile.text
    assert "\x1b" not in hostile.text


def test_the_policy_allows_the_page_s_own_style_and_nothing_from_elsewhere():
    page = comparison_html(comparison())
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', page)
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)[1]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src &#39;sha256-{digest}&#39;" in policy
    assert policy.startswith("default-src &#39;none&#39;")
    names = {name for name, _ in Page(page).attributes}
    assert not {name for name in names if name.startswith("on")}
    assert names.isdisjoint({"src", "style"})
    assert re.findall(r"https?:", page) == []


def test_the_same_takes_give_the_same_page():
    assert comparison_html(comparison()) == comparison_html(comparison())
