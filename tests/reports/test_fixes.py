from dataclasses import replace

import pytest
from markdown_it import MarkdownIt

from analyzer.checks import CHECKS
from analyzer.reports.fixes import fixes_text
from analyzer.reports.plain import markdown_text

READER = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
MARKUP = [
    *("*bold* move", "_under_ the bar", "`code`", "a | b", "[a](https://example.org)", "![a](b.png)", "~~gone~~"),
    *("<b>x</b>", "<script>alert(1)</script>", "<!-- x -->", "&lt;", "<https://example.org>", "a\\*b", "a\\"),
    *("# title", "- list", "> quote", "1. one", "---", "    code", "two\nlines", "two\n\nparts", "\u202eesrever"),
    *("```\nx", "***", "a  \nb", "[a]: b", "| a |\n| - |", "&amp;#42;"),
]


def sections(text):
    """Return the lines of each list by the heading above it, read by a library of its own."""
    out, heading, inside = {}, "", False
    for token in READER.parse(text):
        if token.type == "heading_open":
            inside = True
        elif token.type == "inline":
            shown = "".join(child.content for child in token.children)
            if inside:
                heading, inside = shown, False
            else:
                out.setdefault(heading, []).append(shown)
    return out


def finding(audit, check, **changes):
    return replace(audit.findings[0], id=f"{check}{len(changes)}", check=check, **changes)


@pytest.mark.parametrize("text", MARKUP)
def test_markup_is_shown_as_text(text):
    tokens = READER.parse(f"- say {markdown_text(text)} now\n")
    inline = [child for token in tokens if token.type == "inline" for child in token.children]
    assert {child.type for child in inline} <= {"text", "text_special"}
    shown = "".join(child.content for child in inline)
    assert shown == " ".join(f"say {text} now".replace("\u202e", "").split())
    assert [token.type for token in tokens].count("list_item_open") == 1
    assert set("<>").isdisjoint(markdown_text(text))  # nor do readers that know no backslash see a tag


def test_what_stands_is_listed_by_who_mends_it_and_by_time(audit):
    told = sections(fixes_text(audit))
    assert list(told) == ["Fix list: Lowtide Strength", "Record again", "Cut, trim or move in the edit", "Cautions"]
    assert [line.split(":", 2)[0:2] for line in told["Record again"]] == [
        *(["3", "27"], ["4", "30 to 4"], ["5", "30"], ["6", "21 to 6"]),
    ]
    assert told["Cut, trim or move in the edit"][:2] == [
        "1:44 to 2:12: The right side got 12 s less than the left. "
        "Re-record the right side of round 1, or trim the left. (high)",
        "3:11 to 3:57: cut 16 s. Bear hold ran 16 s over. (medium)",
    ]


def test_waived_and_undecided_are_left_out(audit):
    text = fixes_text(audit)
    assert "breathing" not in text
    assert "may be short" not in text
    assert "What could not be decided is left out" in text
    decided = replace(audit, findings=tuple(f for f in audit.findings if f.verdict == "fail"))
    assert "could not be decided is left out" not in fixes_text(decided)


def test_the_words_to_say_stand_in_the_line(audit):
    found = finding(audit, "cue-missing", say=("long *neck*", "ribs down"), until_s=None)
    lines = sections(fixes_text(replace(audit, findings=(found,))))["Record again"]
    assert lines[0].startswith("1:44: say \u201clong *neck*\u201d and \u201cribs down\u201d. The right side")


def test_a_length_off_in_more_than_one_round_is_a_matter_for_the_plan(audit):
    off = [
        finding(audit, "interval-long", move="Row", round=n, measured=m, expected=30.0) for n, m in ((1, 46), (2, 50))
    ]
    lines = sections(fixes_text(replace(audit, findings=tuple(off))))["Plan or teach otherwise next time"]
    assert lines == ["Row (Main A): the work ran 46 s, 50 s; plan 48 s, or keep to the clock."]
    assert "Plan or teach" not in fixes_text(replace(audit, findings=(off[0],)))


def test_nothing_found(audit):
    text = fixes_text(replace(audit, findings=()))
    assert list(sections(text)) == ["Fix list: Lowtide Strength", "Cautions"]
    assert "There is nothing to mend." in text


def test_a_finding_without_a_time(audit):
    text = fixes_text(replace(audit, findings=(finding(audit, "caption-order", at_s=None, until_s=None),)))
    assert "- **whole class**: The right side" in text


def test_hostile_words_change_no_line(build, hostile_text):
    plain, hostile = (build(text, name) for text, name in (("keep it up", "a.vtt"), (hostile_text, "<b>.vtt")))
    hostile = replace(
        hostile,
        plan=replace(hostile.plan, title=hostile_text, name="a|b*.yaml"),
        findings=tuple(replace(f, message=hostile_text, advice=hostile_text + "\n- x\n", say=(hostile_text,))
                       for f in hostile.findings),
    )  # fmt: skip
    plain_types, hostile_types = ([t.type for t in READER.parse(fixes_text(audit))] for audit in (plain, hostile))
    assert hostile_types == plain_types
    inline = [child.type for t in READER.parse(fixes_text(hostile)) for child in t.children or ()]
    assert set(inline) <= {"text", "text_special", "strong_open", "strong_close"}


def test_the_same_audit_gives_the_same_text_that_ends_in_a_line_feed(build):
    assert fixes_text(build()) == fixes_text(build())
    assert fixes_text(build()).endswith(".\n")


def test_cautions_are_there(audit):
    assert "no safety review" in " ".join(sections(fixes_text(audit))["Cautions"])


def test_only_a_length_against_its_plan_can_be_cut_by_the_second():
    assert {check.id for check in CHECKS if check.mend == "cut"} == {"interval-long", "rest-long", "move-extra"}
