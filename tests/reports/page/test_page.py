import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from analyzer.audit import audit_recording
from analyzer.model.audit import Facts
from analyzer.reports.html import content_policy, quantity
from analyzer.reports.page import report_html
from tests.generator import generate, write_case

VOID = {"meta", "input", "br", "link", "img"}


class Page(HTMLParser):
    """Collects tags and text, and fails on tags that do not close."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.open, self.text = [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not self.open or self.open[-1] not in ("script", "style"):
            self.text.append(data)

    def named(self, tag):
        return [attrs for name, attrs in self.tags if name == tag]


def test_same_audit_same_page(build):
    assert report_html(build()) == report_html(build())


def test_words_of_the_recording_stay_words(build, hostile_text):
    audit = build(hostile_text)
    audit = replace(
        audit,
        plan=replace(audit.plan, title=hostile_text, coach=hostile_text),
        transcript=replace(audit.transcript, name=f"{hostile_text}.vtt"),
        findings=tuple(
            replace(f, message=hostile_text, advice=hostile_text, block=hostile_text) for f in audit.findings
        ),
        limits={"interval-long.limit_s": "</style><script>x()</script>"},
    )
    text = report_html(audit)
    page = Page(text)
    assert len(page.named("script")) == 1
    assert len(page.named("style")) == 1
    assert "<script>alert" not in text
    assert "\x1b" not in text
    assert any("<script>alert('x')</script>" in piece for piece in page.text)


@pytest.mark.parametrize(
    "text", ['"><img src=x onerror=alert(1)>', "'; alert(1) //", "{{ 7 * 7 }}", "&lt;b&gt;", "\U0001f938"]
)
def test_no_element_comes_from_a_recording(build, text):
    page, plain = Page(report_html(build(text))), Page(report_html(build("x")))
    assert [tag for tag, _ in page.tags if tag in ("img", "b", "iframe", "object")] == []
    assert len(page.named("q")) == len(plain.named("q"))
    assert any(text in piece for piece in page.text)


def test_policy_allows_the_page_s_own_script_and_style_only(audit):
    text = report_html(audit)
    policy = next(a["content"] for a in Page(text).named("meta") if a.get("http-equiv") == "Content-Security-Policy")
    for tag in ("script", "style"):
        body = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.S).group(1)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert content_policy("a", "b") != content_policy("a", "c")


def test_nothing_is_fetched_and_nothing_runs_inline(audit):
    text = report_html(audit)
    page = Page(text)
    assert not re.search(r"https?://|@import|url\(", text)
    for tag, attrs in page.tags:
        assert not [name for name in attrs if name.startswith("on") or name in ("style", "src", "srcset")], tag
        assert attrs.get("href", "#").startswith("#")


def test_every_inner_link_leads_somewhere_and_ids_are_unique(audit):
    page = Page(report_html(audit))
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    links = {attrs["href"][1:] for _, attrs in page.tags if attrs.get("href")}
    assert links - set(ids) == set()
    labels = {attrs["aria-labelledby"] for _, attrs in page.tags if "aria-labelledby" in attrs}
    assert labels - set(ids) == set()


def test_the_reader_is_told_what_it_is_not(audit):
    text = " ".join(Page(report_html(audit)).text)
    for said in ("words only", "does not judge form", "not medical advice", "local rules", "What could not be decided"):
        assert said in text


def test_times_carry_the_second_to_play_from(audit):
    page = Page(report_html(audit))
    assert "207.00" in [attrs.get("data-at") for attrs in page.named("a")]


def test_an_empty_result_still_makes_a_page(audit):
    bare = replace(
        audit, alignment=replace(audit.alignment, intervals=()), facts=Facts(), findings=(), limits={},
        transcript=replace(audit.transcript, problems=()),
    )  # fmt: skip
    text = " ".join(Page(report_html(bare)).text)
    assert "Nothing beyond the limits" in text
    assert "Everything that was checked could be decided." in text


def test_quantity_of_an_odd_number():
    assert quantity(float("nan"), "s") == "\u2014"
    assert quantity(-3.04, "%") == "\u22123 %"


def test_words_that_would_mend_a_finding_are_told(audit):
    told = replace(audit.findings[0], say=("keep the <knee> still", "last one"))
    text = " ".join("".join(Page(report_html(replace(audit, findings=(told,)))).text).split())
    assert "Words to say: keep the <knee> still, last one" in text


def test_a_class_of_25_minutes_stays_under_a_megabyte(tmp_path):
    write_case(generate(708, "talkative"), tmp_path, ("words.json",))
    page = report_html(audit_recording(tmp_path / "words.json", tmp_path / "plan.yaml"))
    assert 100_000 < len(page.encode()) < 1_000_000
