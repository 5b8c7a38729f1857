"""Offers: precision and recall on invented sentences, then merging, scope, named moves, plan evidence, tolerance."""

from collections import Counter
from itertools import accumulate, groupby
from pathlib import Path

import pytest
import yaml

from analyzer.language import SpokenText, load_language
from analyzer.model.events import OptionOffer
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.options import spot_options, weighed_by_place
from tests.factory import words_from

SENTENCES = yaml.safe_load((Path(__file__).parent / "options_sentences.yaml").read_text())
STYLES = yaml.safe_load((Path(__file__).parent / "options_styles.yaml").read_text())
HELDOUT = yaml.safe_load((Path(__file__).parent / "options_heldout.yaml").read_text())
NO_PLAN = Plan("none", ())
BLOCKS = Plan(
    "Invented",
    (
        Block(
            "Legs",
            "main",
            moves=(
                Move("Wall sit", 40.0, easier=("slide up the wall",)),
                Move("Skater hop", 40.0, also=("skaters",), effort="hard", easier=("reach down less",)),
            ),
        ),
    ),
)


def offers(*said: tuple[float, str], plan: Plan = NO_PLAN) -> tuple[OptionOffer, ...]:
    words = words_from(said)
    return spot_options(SpotContext(words, SpokenText.of(words), plan, load_language("en")))


def alone(sentence: str) -> str:
    """What the sentence offers between two that offer nothing: a direction, "neither" or "both"."""
    found = offers((0.0, "Keep breathing and keep going."), (20.0, sentence), (60.0, "Long spine, soft shoulders."))
    kinds = {offer.direction for offer in found}
    return "neither" if not kinds else kinds.pop() if len(kinds) == 1 else "both"


def test_enough_sentences_of_each_kind() -> None:
    assert len(SENTENCES["easier"]) + len(SENTENCES["harder"]) >= 60
    assert len(SENTENCES["neither"]) >= 60


def test_precision_and_recall_on_invented_sentences() -> None:
    heard = [(want, alone(sentence)) for want, sentences in SENTENCES.items() for sentence in sentences]
    right = sum(want == got for want, got in heard if want != "neither")
    precision = right / sum(got != "neither" for _, got in heard)
    recall = right / sum(want != "neither" for want, _ in heard)
    assert precision >= 0.9
    assert recall >= 0.9


def measured(styles: dict[str, dict[str, str]]) -> tuple[float, float]:
    """Precision and recall of the offers in sentences by style."""
    heard = [
        ("neither" if want == "none" else want, alone(sentence))
        for groups in styles.values()
        for want, text in groups.items()
        for sentence in text.splitlines()
    ]
    right = sum(want == got for want, got in heard if want != "neither")
    return right / sum(got != "neither" for _, got in heard), right / sum(want != "neither" for want, _ in heard)


def test_styles_are_many_and_tempting() -> None:
    count = Counter(
        label
        for styles in (STYLES, HELDOUT)
        for groups in styles.values()
        for label in groups
        for _ in groups[label].splitlines()
    )
    assert len(STYLES) >= 8
    assert set(STYLES).isdisjoint(HELDOUT)
    assert sum(count.values()) >= 600
    assert count["none"] >= 0.4 * sum(count.values())


def test_precision_and_recall_by_style() -> None:
    precision, recall = measured(STYLES)  # the weights are learnt from these, too
    assert precision >= 0.95
    assert recall >= 0.95


def test_precision_and_recall_on_styles_that_nothing_was_set_on() -> None:
    precision, recall = measured(HELDOUT)
    assert precision >= 0.9
    assert recall >= 0.75


def measured_classes(folder: Path) -> tuple[float, float]:
    """Precision and recall of the offers in whole classes, one line a sentence with its label before a bar.

    An offer heard is right when it shares a line with one of its direction; neighbouring lines of one label are one
    offer to be heard.
    """
    right = heard = met = wanted = 0
    for path in sorted(folder.glob("class-*.txt")):
        lines = [line.split("|", 1) for line in path.read_text(encoding="utf-8").splitlines() if "|" in line]
        starts = accumulate((0.35 * len(text.split()) + 1.2 for _, text in lines), initial=0.0)
        words = words_from([(start, text) for start, (_, text) in zip(starts, lines, strict=False)])
        found = spot_options(SpotContext(words, SpokenText.of(words), NO_PLAN, load_language("en")))
        labels = [label for label, _ in lines]
        told: set[int] = set()
        for offer in found:
            span = range(int(words.caption[offer.first]), int(words.caption[offer.last]) + 1)
            fitting = [line for line in span if labels[line] == offer.direction[0]]
            right += bool(fitting)
            told.update(fitting)
        heard += len(found)
        for label, group in groupby(range(len(lines)), key=labels.__getitem__):
            wanted += label != "-"
            met += label != "-" and not told.isdisjoint(group)
    return right / heard, met / wanted


def test_precision_and_recall_on_whole_classes_that_nothing_was_set_on() -> None:
    precision, recall = measured_classes(Path(__file__).parent / "option_classes_heldout")
    assert precision >= 0.75
    assert recall >= 0.55


def test_condition_and_way_in_two_sentences_are_one_offer_from_the_condition() -> None:
    (offer,) = offers((3.0, "Wrists sore?"), (4.2, "Come down onto your forearms."), (9.0, "Look ahead."))
    assert (offer.direction, offer.at_s, offer.text) == ("easier", 3.0, "Wrists sore? Come down onto your forearms.")


def test_sentences_far_apart_are_not_read_together() -> None:
    assert offers((3.0, "Wrists sore?"), (30.0, "Come down onto your forearms.")) == ()


def test_neighbouring_sentences_of_one_offer_are_merged() -> None:
    (offer,) = offers((0.0, "You can always drop to your knees."), (2.6, "Knees down is still a push-up."))
    assert (offer.first, offer.last) == (0, 12)


def test_opposite_offers_stay_apart() -> None:
    found = offers((0.0, "You can always drop to your knees."), (2.6, "Want more? Add a pulse."))
    assert [offer.direction for offer in found] == ["easier", "harder"]


@pytest.mark.parametrize(
    ("sentence", "scope"),
    [
        ("I'm showing the gentler version all the way through.", "block"),
        ("You can hold the wall in every round.", "block"),
        ("You can hold the wall if you wobble.", "move"),
    ],
)
def test_blanket_offers_cover_the_block(sentence: str, scope: str) -> None:
    (offer,) = offers((0.0, sentence))
    assert offer.scope == scope


def test_named_move_is_told() -> None:
    (offer,) = offers((0.0, "For skaters, you can walk it instead."), plan=BLOCKS)
    assert offer.moves == ((0, 1),)
    (offer,) = offers((0.0, "You can walk it instead."), plan=BLOCKS)
    assert offer.moves == ()


def test_a_move_named_just_before_is_the_one_meant() -> None:
    (soon,) = offers((0.0, "Then the skater hop."), (2.0, "You can walk it instead."), plan=BLOCKS)
    (late,) = offers((0.0, "Then the skater hop."), (20.0, "You can walk it instead."), plan=BLOCKS)
    assert (soon.moves, late.moves) == (((0, 1),), ())


def test_words_of_the_plans_own_option_are_evidence() -> None:
    sentence = (0.0, "Slide up the wall when it bites.")
    assert offers(sentence) == ()
    assert [offer.direction for offer in offers(sentence, plan=BLOCKS)] == ["easier"]


@pytest.mark.parametrize(
    "sentence",
    [
        "If your back grumbles, niece on the mat.",
        "You can drop to your niece.",
        "Grab the liter pair if these feel like bricks.",
    ],
)
def test_one_misheard_word_does_no_harm(sentence: str) -> None:
    assert [offer.direction for offer in offers((0.0, sentence))] == ["easier"]


def test_nothing_said_offers_nothing() -> None:
    assert offers() == ()
    assert offers((0.0, "...")) == ()


@pytest.mark.parametrize(
    ("at_s", "score", "scope", "doubtful"),
    [
        (5.0, 0.99, "move", True),  # before anybody works
        (5.0, 0.99, "block", False),
        (5.0, 0.7, "block", True),
        (30.0, 0.7, "move", False),
        (49.0, 0.7, "move", False),  # just before work begins again
        (45.0, 0.7, "move", True),
        (45.0, 0.99, "move", False),
        (99.0, 0.99, "move", True),  # after all of it
        (74.0, 0.7, "move", False),  # of two at once the longer goes on
    ],
)
def test_an_offer_made_while_nobody_works_has_to_be_surer(
    at_s: float, score: float, scope: str, doubtful: bool
) -> None:
    offer = OptionOffer(0, 1, at_s, at_s + 1, 0.1, "or step it", "easier", (), scope, score)  # type: ignore[arg-type]
    work = [(50.0, 80.0), (60.0, 70.0), (20.0, 40.0)]
    assert [o.doubtful for o in weighed_by_place([offer], work)] == [doubtful]
    assert weighed_by_place([offer], []) == (offer,)
