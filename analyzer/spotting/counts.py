"""Counts: runs of spoken numbers, to a change (``seconds``) or of repetitions and beats (``reps``).

How a run is read
-----------------
1. Candidates are the number words up to twenty that stand free: not "two rounds", "that one", "last three".
2. A run goes on while the next candidate is one lower (or one higher), at most ``MAX_GAP_S`` later and with at most
   ``MAX_TALK`` other words between. One lower by two or more is bridged by misheard numbers that fit ("for"
   between five and three), by a hole in time as long as the missing number (dropped by the recogniser), or kept as
   a truly skipped number when the pace goes on regularly.
3. A run counts when it has three numbers, or two that stand alone as sentences or clauses.
4. Ascending runs are repetitions; so are slow descending ones and those introduced as repetitions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from analyzer.language import Match, find, starting_in
from analyzer.language.numbers import NumberWords
from analyzer.model.events import Count
from analyzer.spotting.context import PAUSE_S, SpotContext

MAX_GAP_S = 6.0
"""Longest silence or talk between two numbers of one run (common practice, no source)."""
MAX_TALK = 9
MAX_TALK_S = 3.2
"""Longest talk inside a run once its pace is known; three times the pace if that is longer."""
SECONDS_PACE_S = 2.2
"""Slower than this a descending run counts repetitions (common practice, no source)."""
QUICK_PACE_S = 1.35
"""Up to this pace a descending run counts seconds however it was introduced (common practice, no source)."""
CLEAR_U_S = 1.0
"""Words less certain than this can't show whether a number is missing or was dropped."""
TOP = 20
LONGEST_DIGITS = 4
INTRO_WORDS = 14


@dataclass(frozen=True, slots=True)
class _Said:
    """A number as said: token offset, word index, onset, value, whether presumed, whether it stands alone."""

    offset: int
    index: int
    at_s: float
    value: int
    presumed: bool = False
    alone: bool = False


@dataclass(frozen=True, slots=True)
class _Run:
    said: tuple[_Said, ...]
    repaired: bool = False

    @property
    def step(self) -> int:
        """-1 descending, 1 ascending, 0 unknown yet."""
        first, last = self.said[0].value, self.said[-1].value
        return (last > first) - (last < first)


def spot_counts(context: SpotContext) -> tuple[Count, ...]:
    """Return every count, by onset; linear in the words."""
    free = _free_numbers(context)
    runs: list[_Run] = []
    for said in free:
        longer = _extend(runs[-1], said, context) if runs else None
        if longer is not None:
            runs[-1] = longer
        else:
            runs.append(_Run((said,)))
    trimmed = (_heard_at_the_ends(_trim(run), context) for run in runs)
    kept = [run for run in trimmed if _is_count(run)]
    phrases = context.language.phrases("counts")
    intros = find(phrases, context.spoken, ["repetitions"])
    changes = find(phrases, context.spoken, ["change"])
    counts = [_count(run, context, intros, changes) for run in kept]
    onward = find(phrases, context.spoken, ["goes on"])
    return tuple(replace(c, goes_on=True) if starting_in(onward, c.last + 1, c.last + 1) else c for c in counts)


# --- candidates --------------------------------------------------------------------------------------------------


def _free_numbers(context: SpotContext) -> list[_Said]:
    """Numbers up to twenty that can belong to a count, in spoken order."""
    spoken, numbers = context.spoken, context.language.numbers
    phrases = context.language.phrases("counts")
    blocked = {offset for match in find(phrases, spoken, ["not a count"]) for offset in _offsets(context, match)}
    values = {token: value for token in spoken.distinct if (value := _value(token, numbers)) is not None}
    said = zip(spoken.tokens, spoken.offsets, strict=False)
    places = [(offset, values[token]) for token, offset in said if token in values]
    at = dict(places)
    kept = (place for place in places if place[0] not in blocked or _in_a_row(place, at, context))
    return [_said(context, offset, value, at) for offset, value in kept]


def _value(token: str, numbers: NumberWords) -> int | None:
    """Return the number that a token says, up to twenty; None for any other."""
    value = numbers.counted.get(token)
    if value is None and len(token) <= LONGEST_DIGITS and token.isdecimal():
        value = int(token)
    return value if value is not None and value <= TOP else None


def _in_a_row(place: tuple[int, int], at: Mapping[int, int], context: SpotContext) -> bool:
    """True when the number next to this one is the one before or after it in a count down."""
    before, after = _neighbours(context, place[0])
    return at.get(after) == place[1] - 1 or at.get(before) == place[1] + 1


def _offsets(context: SpotContext, match: Match) -> list[int]:
    text = context.spoken.text[match.start : match.end]
    return [match.start] + [match.start + i + 1 for i, letter in enumerate(text) if letter == " "]


def _said(context: SpotContext, offset: int, value: int, numbers_at: Mapping[int, int]) -> _Said:
    index = int(context.spoken.word_at[offset])
    before, after = _neighbours(context, offset)
    opens = before in numbers_at or _opens(context, offset, index)
    closes = after in numbers_at or _closes(context, offset, index)
    return _Said(offset, index, _onset(context, offset, index), value, alone=opens and closes)


def _onset(context: SpotContext, offset: int, index: int) -> float:
    """Onset of a token: of its word, or a share of the word's time when the word holds several ("5,4,3")."""
    words, spoken = context.words, context.spoken
    before = offset - 1
    inside = 0
    while before > 0 and int(spoken.word_at[before - 1]) == index and spoken.text[before - 1] != "|":
        inside += 1
        before = spoken.text.rfind(" ", 0, before)
    start = float(words.start_s[index])
    if not inside:
        return start
    total = inside + 1
    at = offset
    while (at := spoken.text.find(" ", at) + 1) and spoken.text[at] != "|" and int(spoken.word_at[at]) == index:
        total += 1
    return start + (float(words.end_s[index]) - start) * inside / total


def _neighbours(context: SpotContext, offset: int) -> tuple[int, int]:
    """Offsets of the tokens before and after, looking past a sentence's edge."""
    text = context.spoken.text
    before = text.rfind(" ", 0, offset - 1) + 1
    if text[before] == "|" and before > 1:
        before = text.rfind(" ", 0, before - 1) + 1
    after = text.find(" ", offset) + 1
    if text[after] == "|":
        after += 2
    return before, after


def _opens(context: SpotContext, offset: int, index: int) -> bool:
    return context.spoken.text[offset - 2] == "|" or context.breaks_before(index)


def _closes(context: SpotContext, offset: int, index: int) -> bool:
    after = context.spoken.text.find(" ", offset) + 1
    if context.spoken.text[after] == "|" or context.breaks_after(index):
        return True
    return index + 1 < len(context.words) and float(context.words.pause_s[index + 1]) > PAUSE_S


# --- runs --------------------------------------------------------------------------------------------------------


def _extend(run: _Run, said: _Said, context: SpotContext) -> _Run | None:
    """The run with this number added, or None when it doesn't belong."""
    last = run.said[-1]
    gap_s = said.at_s - last.at_s
    if gap_s > MAX_GAP_S or said.index - last.index > MAX_TALK + 1:
        return None
    step = said.value - last.value
    if len(run.said) > 1 and gap_s > max(MAX_TALK_S, 3.0 * _pace_s(run.said)):
        return _closed_by_ear(run, said, context)
    if step == 0:
        return _repeat(run, said)
    if run.step == 0 and step in (-1, 1):
        return _Run((*run.said, said))
    if run.step == 1:
        return replace(run, said=(*run.said, said)) if step == 1 else None
    if step == -1:
        return replace(run, said=(*run.said, said))
    return _bridge(run, said, context) if -6 < step < -1 else None


def _closed_by_ear(run: _Run, said: _Said, context: SpotContext) -> _Run | None:
    """After a long gap the run is over, unless the number due was misheard close by: then that one belongs to it."""
    last = run.said[-1]
    due = last.value + (1 if run.step == 1 else -1)
    for heard in _misheard_between(context, last, said):
        if heard.value == due and heard.at_s - last.at_s <= 1.6 * _pace_s(run.said) and said.value == due:
            return _Run((*run.said, heard), True)
    return None


def _repeat(run: _Run, said: _Said) -> _Run:
    """The same number again: a false start at the beginning, part of the count later."""
    return _Run((said,)) if len(run.said) == 1 else replace(run, said=(*run.said, said))


def _bridge(run: _Run, said: _Said, context: SpotContext) -> _Run | None:
    """A fall of two or more: filled by what was misheard, presumed dropped, or truly skipped."""
    last = run.said[-1]
    between = _misheard_between(context, last, said)
    fill: list[_Said] = []
    wanted = last.value - 1
    for heard in between:
        if heard.value == wanted and wanted > said.value:
            fill.append(heard)
            wanted -= 1
    holes = wanted - said.value
    if holes > 1 and _on_the_second(last, said, context):
        return _Run((*run.said, *fill, said), True)
    if holes > 1 or (not fill and holes == 1 and not (last.alone and said.alone)):
        return None
    if holes == 0:
        return _Run((*run.said, *fill, said), True)
    gap_s = said.at_s - (fill[-1] if fill else last).at_s
    unclear = float(context.words.u_s[said.index]) > CLEAR_U_S
    dropped = bool(fill) or unclear or gap_s > 1.55 * _pace_s(run.said)
    return _Run((*run.said, *fill, said), run.repaired or dropped)


def _on_the_second(first: _Said, last: _Said, context: SpotContext) -> bool:
    """Whether two numbers are as many seconds apart as they say, with lone words, whatever they are, between them."""
    steps = first.value - last.value
    pace_s = (last.at_s - first.at_s) / steps
    between = range(first.index + 1, last.index)
    lone = sum(context.breaks_before(index) and context.ends_clause(index) for index in between)
    sure = first.alone and last.alone and float(context.words.u_s[last.index]) <= CLEAR_U_S
    return sure and 0.75 <= pace_s <= 1.3 and steps - 2 <= lone == len(between)


def _misheard_between(context: SpotContext, first: _Said, last: _Said) -> list[_Said]:
    """Words between two numbers that sound like a number and stand by themselves or next to one."""
    heard: list[_Said] = []
    text, misheard = context.spoken.text, context.language.numbers.misheard
    offset = text.find(" ", first.offset) + 1
    near = True
    while offset < last.offset:
        end = text.find(" ", offset)
        token = text[offset:end]
        if token != "|":
            index = int(context.spoken.word_at[offset])
            next_to = near or _opens(context, offset, index)
            follows = end + 1 == last.offset or text[end + 1] == "|" or _closes(context, offset, index)
            value = misheard.get(token)
            near = value is not None and next_to
            if near and value is not None and (follows or text[end + 1 :].split(" ", 1)[0] in misheard):
                heard.append(_Said(offset, index, _onset(context, offset, index), value, True, True))
        offset = end + 1
    return heard


def _heard_at_the_ends(run: _Run, context: SpotContext) -> _Run:
    """Add misheard numbers that stand alone just before the first or just after the last one."""
    if run.step == 1 or not all(said.alone for said in (run.said[0], run.said[-1])):
        return run
    said = run.said
    while (extra := _heard_beside(said[0], said[0].value + 1, True, context)) is not None:
        said = (extra, *said)
    while (extra := _heard_beside(said[-1], said[-1].value - 1, False, context)) is not None:
        said = (*said, extra)
    return run if said is run.said else _Run(said, True)


def _heard_beside(said: _Said, value: int, before: bool, context: SpotContext) -> _Said | None:
    """The neighbour of a number, when it stands alone and sounds like ``value``."""
    text = context.spoken.text
    offset = _neighbours(context, said.offset)[0 if before else 1]
    if not 0 < offset < len(text) or value < 1:
        return None
    if context.language.numbers.misheard.get(text[offset : text.find(" ", offset)]) != value:
        return None
    index = int(context.spoken.word_at[offset])
    onset = float(context.words.start_s[index])
    alone = _closes(context, offset, index) and (_opens(context, offset, index) or not before)
    return _Said(offset, index, onset, value, True, True) if alone and abs(onset - said.at_s) < 2.5 else None


def _trim(run: _Run) -> _Run:
    """Drop repeated numbers at the end: they belong to what is said next."""
    said = run.said
    while len(said) > 1 and said[-1].value == said[-2].value:
        said = said[:-1]
    return replace(run, said=said)


def _is_count(run: _Run) -> bool:
    if len(run.said) >= 3:
        together = all(b.index - a.index <= 1 for a, b in pairwise(run.said))
        return together or sum(said.alone for said in run.said) * 2 >= len(run.said)
    if len(run.said) < 2 or not all(said.alone for said in run.said):
        return False
    first, last = run.said
    if (first.presumed or last.presumed) and last.value != 1:
        return False
    steps = first.value - last.value if run.repaired else 1  # a word for every number that is missing
    return last.value <= 8 and last.index - first.index <= steps


# --- from run to event -------------------------------------------------------------------------------------------


def _pace_s(said: Sequence[_Said]) -> float:
    """Median seconds a number over the steps of one; 1.0 when there is none."""
    steps = [b.at_s - a.at_s for a, b in pairwise(said) if abs(b.value - a.value) == 1]
    return median(steps) if steps else 1.0


def _count(run: _Run, context: SpotContext, intros: list[Match], changes: list[Match]) -> Count:
    said = run.said
    first, last = said[0].index, said[-1].index
    pace_s = _pace_s(said)
    unclear = float(context.words.u_s[last]) > CLEAR_U_S
    seconds = run.step == -1 and (unclear or pace_s <= SECONDS_PACE_S)  # estimated times say nothing of the pace
    if seconds and (unclear or pace_s > QUICK_PACE_S):
        introduced = bool(starting_in(intros, first - INTRO_WORDS, last))
        changed = unclear and bool(starting_in(changes, last, last + 2))
        seconds = changed or not introduced
    one_s = 1.0 if unclear else min(1.5, max(0.7, pace_s))
    value = said[-1].value
    return Count(
        *context.place(first, last),
        numbers=tuple(number.value for number in said),
        positions=tuple(number.index for number in said),
        times_s=tuple(number.at_s for number in said),
        role="seconds" if seconds else "reps",
        lands_s=said[-1].at_s + (one_s if value == 1 else float(value)),
        repaired=run.repaired,
    )
