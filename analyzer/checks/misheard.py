"""Caption-misheard: a move's name that the recogniser wrote down as something else."""

from __future__ import annotations

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import is_the_name
from analyzer.checks.hints import hint_words
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.phrases import times
from analyzer.checks.places import BlockSpan, Worked, at_time, block_spans, coming, span_at, worked_intervals
from analyzer.model.audit import Evidence, Finding
from analyzer.model.events import Mention
from analyzer.spotting.names import split_words

PLAIN_SCORE = 0.88  # our judgement: "force" and "calls" are like "four" and "curls" below it


def misheard_names(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every name of a move that the transcript has wrong, with all its places.

    Told as wrong is what sounds like the name and stands where the move is spoken of: while it or the move before it
    is worked, or in its block's demo. Another inflection, the words of the name in another order or parted otherwise
    are the name.
    """
    least = context.rules.value("caption-misheard", "least_score")
    small = hint_words("small")
    groups: dict[str, list[Mention]] = {}
    for mention in context.events.mentions:
        if (
            not mention.exact
            and mention.score >= least
            and not is_the_name(mention, small)
            and _in_place(context, mention)
        ):
            groups.setdefault(mention.name, []).append(mention)
    return tuple(_finding(context, name, found) for name, found in groups.items() if not _by_chance(found))


def _by_chance(found: list[Mention]) -> bool:
    """Return True for one plain word, heard once, that sounds only fairly like a name: it may well be itself."""
    only = found[0]
    one = len(found) == 1 and len(split_words(only.text)) == 1
    return one and only.context == "plain" and only.score < PLAIN_SCORE


def _in_place(context: CheckContext, mention: Mention) -> bool:
    """Return True when one of the moves it may name is worked there, comes next, or is shown there."""
    rows = worked_intervals(context)
    slack = 2.0 * mention.u_s
    near: list[Worked | None] = [at_time(rows, mention.at_s, slack), coming(rows, mention.at_s)]
    now = at_time(rows, mention.at_s)
    if now is not None:
        near.append(coming(rows, now.end_s + 0.01))
    here = {(row.plan.block, row.plan.move) for row in near if row is not None and row.plan is not None}
    span: BlockSpan | None = span_at(block_spans(context), mention.at_s)
    shown = span is not None and mention.at_s <= span.start_s + slack
    return any(move in here or (span is not None and shown and move[0] == span.block) for move in mention.moves)


def _finding(context: CheckContext, name: str, found: list[Mention]) -> Finding:
    blocks = context.plan.blocks
    move = next(m for m in found[0].moves)
    owners = {blocks[b].name for mention in found for b, _ in mention.moves}
    heard = list(dict.fromkeys(" ".join(split_words(mention.text)) for mention in found))
    starts = [mention.at_s for mention in found]
    quoted = ", ".join(f"\u201c{text}\u201d" for text in heard[:3]) + (" and others" if len(heard) > 3 else "")
    verb = "stands" if len(heard) == 1 else "stand"
    return build(
        context,
        "caption-misheard",
        Place(owners.pop() if len(owners) == 1 else None, None, blocks[move[0]].moves[move[1]].name),
        f"{quoted} {verb} where \u201c{name}\u201d was most likely said: {times(starts)}.",
        f"Replace {'it' if len(heard) == 1 else 'them'} by \u201c{name}\u201d in the captions; add the name to the "
        "recogniser's word list if it takes one.",
        at_s=starts[0],
        until_s=found[-1].end_s,
        measured=float(len(found)),
        expected=0.0,
        unit="times",
        evidence=tuple(Evidence(mention.at_s, mention.text) for mention in found),
        instead=name,
    )


CAPTION_MISHEARD = Check(
    id="caption-misheard",
    title="The captions have a move's name wrong",
    means="Viewers who read along see a word that makes no sense, and nobody can search for the move.",
    measured="Words that sound like a move's name, where that move is worked, announced or shown.",
    fix="Correct the name in the captions at the places listed.",
    severity="low",
    mend="captions",
    function=misheard_names,
    parameters=(
        Parameter("least_score", 0.75, "share", 0.5, 1.0, "how much alike they must sound to be told as the name"),
    ),
)
