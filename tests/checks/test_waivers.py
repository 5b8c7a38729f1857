from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.checks import apply_waivers, make_waiver, read_waivers, waivers_path, with_waiver, without_waiver
from analyzer.checks.waivers import parse_waivers
from analyzer.model.audit import Finding, Waiver
from analyzer.model.errors import WaiverError

A, B, C = "aaaaaaaaaaaa", "bbbbbbbbbbbb", "0123456789ab"

BY_HAND = f"""# Agreed on Monday
waivers:
- finding: {A}   # ask Coach B again
  reason: >
    The story stays,
    viewers like it.

# the second one
- finding: {B}
  reason: 'no voice-over left: #3'
# the end
"""


@pytest.fixture
def plan(tmp_path):
    return tmp_path / "class.v2.yaml"


def write(plan, text):
    waivers_path(plan).write_bytes(text if isinstance(text, bytes) else text.encode())


def finding(id_, **more):
    return Finding(id_, "rest-long", "low", "fail", "A rest ran long.", "Cut it.", **more)


def test_the_file_stands_beside_the_plan():
    assert waivers_path(Path("plans/class.v2.yaml")) == Path("plans/class.v2.waivers.yaml")


def test_without_a_file_nothing_is_waived(plan):
    assert read_waivers(plan) == ()


@pytest.mark.parametrize("text", ["", "# none yet\n", "waivers:\n", "waivers: []\n", "\ufeff# none\n"])
def test_an_empty_file_waives_nothing(plan, text):
    write(plan, text)
    assert read_waivers(plan) == ()


def test_a_plan_with_the_longest_name_has_no_waivers(tmp_path):
    plan = tmp_path / f"{'a' * 250}.yaml"  # 255 bytes, the most that usual file systems take
    plan.write_text("title: A")
    assert read_waivers(plan) == ()


def test_a_file_written_by_hand(plan):
    write(plan, BY_HAND)
    assert read_waivers(plan) == (
        Waiver(A, "The story stays, viewers like it."),
        Waiver(B, "no voice-over left: #3"),
    )


ENTRY = f"waivers:\n  - finding: {A}\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (ENTRY, r", line 2, waivers\[0\].reason: missing; some text is needed$"),
        (ENTRY + "    reason:\n", r", line 3, waivers\[0\].reason: missing"),
        (ENTRY + "    reason: ''\n", r", line 3, waivers\[0\].reason: missing"),
        (ENTRY + "    reson: why\n", r"line 3, .*unknown field, did you mean 'reason'\?"),
        (ENTRY + "    reason: [a]\n", "a list where a text is expected"),
        (ENTRY + f"    reason: {'x' * 301}\n", "301 characters; at most 300 are allowed"),
        ("waivers:\n  - reason: why\n", r"line 2, waivers\[0\].finding: missing"),
        ("waivers:\n  - {finding: rest-long, reason: why}\n", r"line 2, .*'rest-long' is no finding's id; 12 of"),
        (f"waivers:\n  - {{finding: {A.upper()}, reason: why}}\n", "is no finding's id"),
        (
            f"waivers:\n- {{finding: {A}, reason: x}}\n- {{finding: {A}, reason: y}}\n",
            "line 3.* twice, first in line 2",
        ),
        ("waivers: none\n", "line 1, waivers: the text 'none' stands where a list is expected"),
        ("waivers:\n  - soon\n", r"line 2, waivers\[0\]: the text 'soon' stands where fields are expected"),
        ("waiver: []\n", r"unknown field, did you mean 'waivers'\?"),
        ("- a\n", "line 1: a list stands where fields are expected; plain YAML that starts with 'waivers:' is allowed"),
        ("waivers: &a []\n", "the anchor '&a'"),
        ("waivers: !!python/name:os.system x\n", "the tag"),
        ("waivers: [\n", "not valid YAML"),
        (b"waivers: \xff", "byte 0xFF is not UTF-8 text; plain YAML that starts with 'waivers:' is allowed"),
        (b"PK\x03\x04\x00", "plain YAML that starts with 'waivers:' is allowed"),
        ("x" * 200_001, "more than 200000 bytes"),
    ],
)
def test_mistakes_are_named(plan, text, says):
    write(plan, text)
    with pytest.raises(WaiverError, match=says) as caught:
        read_waivers(plan)
    assert str(caught.value).startswith(str(waivers_path(plan)))
    assert " plan" not in str(caught.value).removeprefix(str(waivers_path(plan)))


def test_all_mistakes_are_listed(plan):
    write(plan, "waivers:\n  - finding: x\n    reason: why\n  - finding: " + A + "\n")
    with pytest.raises(WaiverError, match=r"\(and 1 more mistake\)$") as caught:
        read_waivers(plan)
    assert [str(m).split(": ")[0].split(", ", 1)[1] for m in caught.value.mistakes] == [
        "line 2, waivers[0].finding",
        "line 4, waivers[1].reason",
    ]


def test_a_folder_in_its_place_is_one_clear_line(plan):
    waivers_path(plan).mkdir()
    with pytest.raises(WaiverError, match=r"class\.v2\.waivers\.yaml: cannot be read"):
        read_waivers(plan)


def test_a_waived_finding_keeps_everything_but_gets_the_reason():
    findings = (finding(A, at_s=3.0), finding(B))
    marked, stale = apply_waivers(findings, (Waiver(B, "as meant"), Waiver(C, "gone")))
    assert marked == (finding(A, at_s=3.0), finding(B, waived="as meant"))
    assert stale == (Waiver(C, "gone"),)


def test_no_waivers_change_nothing():
    assert apply_waivers([finding(A)], ()) == ((finding(A),), ())


def test_the_first_one_makes_a_file_that_says_what_it_is(plan):
    raw = with_waiver(plan, Waiver(A, 'a "quoted" reason'))
    assert raw.decode().startswith("# Findings accepted as they are.")
    assert parse_waivers(raw, "f") == (Waiver(A, 'a "quoted" reason'),)


def test_adding_keeps_every_line_that_was_there(plan):
    write(plan, BY_HAND.rstrip("\n"))
    raw = with_waiver(plan, Waiver(C, "third"))
    assert raw.decode() == BY_HAND + f'- finding: "{C}"\n  reason: "third"\n'


def test_waiving_again_gives_the_new_reason(plan):
    write(plan, BY_HAND)
    raw = with_waiver(plan, Waiver(A, "anew"))
    assert [w.reason for w in parse_waivers(raw, "f")] == ["no voice-over left: #3", "anew"]


def test_removing_leaves_the_other_lines_and_the_comments_between(plan):
    write(plan, BY_HAND)
    kept = BY_HAND.splitlines(keepends=True)
    assert without_waiver(plan, A).decode() == "".join(kept[:2] + kept[6:])
    assert without_waiver(plan, B).decode() == "".join(kept[:8] + kept[10:])


def test_the_last_one_removed_leaves_a_file_that_can_be_added_to(plan):
    write(plan, with_waiver(plan, Waiver(A, "why")))
    write(plan, without_waiver(plan, A))
    assert read_waivers(plan) == ()
    assert parse_waivers(with_waiver(plan, Waiver(B, "why")), "f") == (Waiver(B, "why"),)


def test_removing_what_is_not_waived(plan):
    write(plan, BY_HAND)
    with pytest.raises(WaiverError, match=f"finding '{C}' is not waived; 'class-analyzer waive --plan PLAN' lists"):
        without_waiver(plan, C)


@pytest.mark.parametrize(
    "text",
    [
        f"waivers: [{{finding: {A}, reason: x}}]\n",
        "waivers: []\n",
        f"waivers:\n- {{finding: {A}, reason: x}}\n...\n",
        BY_HAND.encode("utf-16"),
    ],
)
def test_a_layout_that_cannot_be_added_to_is_refused_not_rewritten(plan, text):
    write(plan, text)
    with pytest.raises(WaiverError, match=r"change it by hand|save it as UTF-8"):
        with_waiver(plan, Waiver(C, "why"))


def test_windows_line_ends_and_a_byte_order_mark(plan):
    write(plan, "\ufeff" + BY_HAND.replace("\n", "\r\n"))
    raw = with_waiver(plan, Waiver(C, "why"))
    assert [w.finding for w in parse_waivers(raw, "f")] == [A, B, C]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("abc", "why"), "^waive, finding: 'abc' is no finding's id"),
        ((A, "  "), "^waive, reason: missing"),
        ((A, "bell \x07"), "holds a control character"),
        ((A, "half \ud83e a letter"), "holds a control character"),
        ((A, "x" * 301), "at most 300 are allowed"),
    ],
)
def test_what_is_typed_is_held_to_the_same_rules(words, says):
    with pytest.raises(WaiverError, match=says):
        make_waiver(*words)


@given(st.lists(st.text(min_size=1, max_size=40), min_size=1, max_size=4))
def test_any_reason_that_is_taken_reads_back_as_it_was(tmp_path_factory, reasons):
    plan = tmp_path_factory.mktemp("p") / "class.yaml"
    made = []
    for number, reason in enumerate(reasons):
        try:
            waiver = make_waiver(f"{number:012x}", reason)
        except WaiverError as error:
            assert "\n" not in str(error)  # noqa: PT017 - both outcomes are allowed
            continue
        made.append(waiver)
        waivers_path(plan).write_bytes(with_waiver(plan, waiver))
    assert read_waivers(plan) == tuple(made)
    for waiver in made:
        waivers_path(plan).write_bytes(without_waiver(plan, waiver.finding))
    assert read_waivers(plan) == ()
