"""Phrase-overused: a coach's pet phrases, found without a list of them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hints import hint_words
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.phrases import times
from analyzer.language import current_language, load_language
from analyzer.model.audit import Evidence, Finding
from analyzer.model.events import Event
from analyzer.model.plan import Plan
from analyzer.spotting.names import split_words, stem

SIZES = range(2, 6)
PARTS, SPREAD_PARTS = 4, 3  # our judgement: in three quarters of the class, or it belongs to a move or a block
SAME_SHARE = 0.75  # our judgement: a longer phrase that holds this much of a shorter one's places is that phrase
MOST_TOLD = 3  # our judgement: more pet phrases than this nobody can unlearn at once
WORKING = frozenset({"start", "stop", "switch", "demo", "round", "water", "goodbye"})


@dataclass(frozen=True, slots=True)
class Habit:
    """A run of words, and the indexes of its first word wherever it was said."""

    words: tuple[str, ...]
    places: tuple[int, ...]


def overused_phrases(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for each of the most repeated phrases that come more often than the limit.

    What the class needs said again and again is no habit: names of moves, counts, calls, sides, changes, options,
    cues of the plan; nor is a run of words without a meaning of its own ("on to the").
    """
    words, minutes = context.transcript.words, context.transcript.class_s / 60.0
    limit = context.rules.value("phrase-overused", "limit_per_minute")
    least = max(context.rules.value("phrase-overused", "least_count"), limit * minutes)
    if minutes <= 0:
        return ()
    allowed = {tuple(split_words(text)) for text in context.rules.checks["phrase-overused"].phrases}
    habits = [h for h in _habits(context, least) if not any(_holds(h.words, some) for some in allowed)]
    out = []
    for habit in habits[:MOST_TOLD]:
        starts = [float(words.start_s[at]) for at in habit.places]
        said = words.phrase(habit.places[0], habit.places[0] + len(habit.words) - 1)
        out.append(
            build(
                context,
                "phrase-overused",
                Place(),
                f"\u201c{' '.join(habit.words)}\u201d is said {len(starts)} times in {minutes:.0f} minutes: "
                f"{times(starts)}.",
                "Say it less, or in other words; in this recording, cut a few where the cut costs nothing.",
                at_s=starts[0],
                until_s=starts[-1],
                measured=len(starts) / minutes,
                limit=limit,
                unit="times a minute",
                evidence=(Evidence(starts[0], said),),
            )
        )
    return tuple(out)


def _habits(context: CheckContext, least: float) -> list[Habit]:
    """Return the phrases said more often than ``least``, longest and most frequent first, none inside another."""
    words, begins, length = context.transcript.words, context.transcript.class_start_s, context.transcript.class_s
    own = _own_stems(context.plan)
    kept = []
    for gram, places in _repeated(context, least).items():
        apart = _apart(places, len(gram))
        if len(apart) <= least or not _tells(gram, own):
            continue
        parts = np.floor(PARTS * (words.start_s[np.asarray(apart)] - begins) / length)
        if len(set(parts.tolist())) >= SPREAD_PARTS:
            kept.append(Habit(gram, tuple(apart)))
    kept.sort(key=lambda h: (-len(h.places), -len(h.words), h.words))
    return _widest(kept)


def _repeated(context: CheckContext, least: float) -> dict[tuple[str, ...], list[int]]:
    """Return the runs of words said more often than ``least`` with the indexes of their first words.

    A run is only often said where the run without its last word is: so each length is counted at the places that the
    shorter one left, and rare words cost one look each.
    """
    norm = context.transcript.words.norm
    ends, count = _run_ends(context), Counter(norm)
    out: dict[tuple[str, ...], list[int]] = {}
    starts = [at for at, end in enumerate(ends) if end and count[norm[at]] > least]
    for size in SIZES:
        grams: dict[tuple[str, ...], list[int]] = {}
        for at in starts:
            if at + size <= ends[at]:
                grams.setdefault(norm[at : at + size], []).append(at)
        often = {gram: places for gram, places in grams.items() if len(places) > least}
        out |= often
        starts = sorted(at for places in often.values() for at in places)
    return out


def _widest(habits: list[Habit]) -> list[Habit]:
    """Return the habits with each that is part of another, or holds one, told once: as the longer one if it is as
    good as always said whole, else as the shorter one."""
    out: list[Habit] = []
    for habit in habits:
        longer = [h for h in habits if h is not habit and _holds(h.words, habit.words)]
        if any(len(h.places) >= SAME_SHARE * len(habit.places) for h in longer):
            continue
        if not any(_holds(habit.words, h.words) or _share_words(habit, h) for h in out):
            out.append(habit)
    return out


def _share_words(habit: Habit, other: Habit) -> bool:
    """Return True when two phrases mostly stand on the same words of the recording."""
    own = {at + n for at in habit.places for n in range(len(habit.words))}
    theirs = {at + n for at in other.places for n in range(len(other.words))}
    return len(own & theirs) > len(own) / 4


def _holds(longer: tuple[str, ...], shorter: tuple[str, ...]) -> bool:
    size = len(shorter)
    return any(longer[at : at + size] == shorter for at in range(len(longer) - size + 1))


def _apart(places: list[int], size: int) -> list[int]:
    """Return places that do not overlap: "go go go go" is "go go" twice."""
    out: list[int] = []
    for at in places:
        if not out or at >= out[-1] + size:
            out.append(at)
    return out


def _run_ends(context: CheckContext) -> list[int]:
    """Return for every word where its run of words ends (that word excluded), 0 for a word that is in none.

    Runs are parted at sentence ends, at commas, numbers and everything said for the class.
    """
    words = context.transcript.words
    opens, taken = words.opens.tolist(), _taken(context)
    plain = {norm for norm in set(words.norm) if _is_plain(norm)}
    ends, stop = [0] * len(words), 0
    for at in reversed(range(len(words))):
        if words.norm[at] not in plain or at in taken:
            stop = 0
            continue
        if not stop or words.text[at][-1:] in ",;:":
            stop = at + 1
        ends[at] = stop
        if opens[at]:
            stop = 0
    return ends


def _is_plain(norm: str) -> bool:
    """Tell whether a word is no number and holds none."""
    numbers = load_language(current_language()).numbers.values
    return norm != "" and norm not in numbers and (norm.isalpha() or not any(map(str.isdigit, norm)))


def _taken(context: CheckContext) -> set[int]:
    """Return the words that the class needs: names, counts, calls, changes of work, sides, options, cues, promises."""
    events = context.events
    groups: tuple[tuple[Event, ...], ...] = (
        events.counts, events.calls, events.mentions, events.sides, events.options, events.promises, events.cues,
        tuple(s for s in events.signals if s.kind in WORKING),
    )  # fmt: skip
    return {at for group in groups for event in group for at in range(event.first, event.last + 1)}


def _own_stems(plan: Plan) -> frozenset[str]:
    """Return the stems of all that the plan itself has said: names, options, cues, equipment."""
    texts = list(plan.equipment)
    for block in plan.blocks:
        texts.append(block.name)
        for move in block.moves:
            texts += (move.name, *move.also, *move.easier, *move.harder, *move.cues)
    return frozenset(stem(word) for text in texts for word in split_words(text))


def _tells(gram: tuple[str, ...], own: frozenset[str]) -> bool:
    """Return True when a run of words says something of its own, whole: "you got this", not "the floor", "to your".

    It neither starts nor ends with a word that leads on to the next one; and it holds two words of meaning that are
    not the plan's, or one beside the one who speaks or is spoken to.
    """
    empty, leads, people = (hint_words(group) for group in ("empty", "leads", "people"))
    if gram[-1] in leads or gram[0] in ("and", "or", "but", "of"):
        return False
    full = [word for word in gram if word not in empty and stem(word) not in own]
    if not full or all(word in hint_words("places") for word in full):
        return False
    if len(set(full)) > 1:
        return True
    return len(gram) > 2 and not people.isdisjoint(gram)


PHRASE_OVERUSED = Check(
    id="phrase-overused",
    title="A pet phrase is said too often",
    means="Viewers start to hear the habit instead of the coaching.",
    measured="The most repeated runs of 2 to 5 words, spread over the class, that are no name, count, call or cue.",
    fix="Say it less, or in other words.",
    severity="low",
    mend="plan",
    function=overused_phrases,
    parameters=(
        Parameter("limit_per_minute", 1.0, "a minute", 0.05, 60.0, "how often a phrase may come, over the class"),
        Parameter("least_count", 6.0, "times", 2.0, 1000.0, "and more often than this, however short the class"),
    ),
    phrases="these never count as pet phrases",
)
