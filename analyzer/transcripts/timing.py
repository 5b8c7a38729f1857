"""Captions to timed words: the one place where a word's time is estimated.

Conventions: arrays of length n, one entry a word, in spoken order; float64 seconds. A *group* is a caption, or a few
that leave no room between their starts; inside a group words follow each other, then:

* a word takes its natural length, longer or shorter by one factor when the caption asks for it;
* the rest of the group's time is pauses, one possible after every word, the last after the group's last word;
* pauses are shared as a Dirichlet with weights by what stands between the words: the mean gives the estimate, the
  variance its uncertainty, which vanishes with the free time and is largest in the middle of it. Pauses are
  log-normal with a spread about as large as their mean (Campione & Veronis, Speech Prosody 2002), hence weights
  near one at a sentence end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.model.transcript import Bools, Caption, Floats, Grain, Ints, Words
from analyzer.transcripts.sentences import is_sparse, sentence_breaks
from analyzer.transcripts.speech import (
    COMMA,
    COUNTED_S,
    FASTEST_SYLLABLE_S,
    NOT_A_NUMBER,
    SENTENCE_END,
    Spoken,
    spoken,
)
from analyzer.transcripts.word_grain import time_given_words

# Natural pauses, from the two shorter of three modes (under 0.2 s; 0.2 to 1 s) of Campione & Veronis.
PAUSE_COMMA_S, PAUSE_SENTENCE_S = 0.15, 0.45
COUNT_STEP_S = 1.0  # a count to a change runs at a number a second (common practice)
# Dirichlet weights of a pause after a word: nothing, comma, sentence end, inside a count.
WEIGHT_WORD, WEIGHT_COMMA, WEIGHT_SENTENCE, WEIGHT_COUNT = 0.05, 0.35, 0.9, 0.1
# Weight of silence before a caption's end: little where the next one leaves a gap (the end marks the end of speech);
# else as after any word, by the stop (none, comma, sentence end). A stamp is set by the clock, and a clock strikes in
# a long pause more often than in a short one: the pause before it is size-biased, which adds up to one to a weight,
# less where the next word may as well have been struck.
WEIGHT_TIGHT_END = 0.25
WEIGHT_END = {"cue": (0.1, 0.35, 0.9), "stamp": (0.3, 0.85, 1.9)}
WEIGHT_UNMARKED_END = {"cue": 0.4, "stamp": 0.8}  # where a transcript has no sentence marks
WEIGHT_STRETCH = 0.4  # a second of speech takes up this weight by slower words, up to MAX_STRETCH of itself
MAX_STRETCH = 0.25
FEWEST_PARAGRAPHS = 4  # our judgement: from so many stamped paragraphs on their pace tells how long the last one lasts
GAP_S = 0.12  # a gap from which a caption's end is its own
RATE_SPREAD = 0.15  # spread of the speaking rate from phrase to phrase, as a share of it
FILL_SPREAD_S = 0.3  # spread of how far before a caption's end its speech is over, where the file does not show it
FILL_SPREAD_RANGE_S = (0.05, 1.0)
BEAT_SPREAD = 0.2  # spread of the pauses in a count, as a share of them
WORD_SPREAD = 0.35  # spread of a word's length about its natural length, as a share of it
EDGE_U_S = {"cue": 0.15, "stamp": 0.25}  # how well a first word sits on its caption's start
EDGE_SLACK_S = {"cue": 0.3, "stamp": 0.5}  # a hard bound is loosened by this much
ROOM_SHARE = 0.5  # starts closer than this share of the least speaking time form one group
# A stamp may be cut or rounded. Half and half: the mean lies a quarter step late, variance 1/12 + 1/16 step squared.
STEP_SHIFT, STEP_U = 0.25, (1 / 12 + 1 / 16) ** 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Speech:
    """How each word is spoken: arrays of length n. ``pause_s``, ``weight`` and ``counting`` say what comes after it."""

    length_s: Floats
    fastest_s: Floats
    stop: Ints
    pause_s: Floats
    weight: Floats
    counting: Bools


@dataclass(frozen=True, slots=True, eq=False)
class _Groups:
    """Where the groups lie: arrays of length g. ``first``/``last`` word, last excluded; ``open`` = end is no end;
    ``end_u`` how well the end is known, as a share of the group's length."""

    first: Ints
    last: Ints
    start_s: Floats
    end_s: Floats
    hard_end_s: Floats
    open: Bools
    end_u: Floats


Times = tuple[Floats, Floats, Floats, Floats, Floats]


def time_words(
    captions: Sequence[Caption], grain: Grain, stamp_step_ms: int = 1, duration_ms: int | None = None
) -> Words:
    """Return every word of the captions with its time, hard bounds and standard uncertainty.

    ``captions`` ascend by start. ``stamp_step_ms`` is the rounding of their times: whether cut or rounded is unknown,
    so the true time lies from half a step before to a whole step after. ``duration_ms`` ends the last caption where
    it has no end. Seconds from the start of the recording; onsets never go back; earliest <= start <= latest.
    """
    captions = [caption for caption in captions if caption.tokens]
    text = tuple([token.text for caption in captions for token in caption.tokens])
    distinct = {word: place for place, word in enumerate(dict.fromkeys(text))}
    which = np.fromiter(map(distinct.__getitem__, text), dtype=np.int64, count=len(text))
    facts = [spoken(word) for word in distinct]
    counts = np.array([len(caption.tokens) for caption in captions], dtype=np.int64)
    caption_of = np.repeat(np.arange(len(captions), dtype=np.int64), counts)
    speech = _speech(facts, which)
    step_s = stamp_step_ms / 1000 if stamp_step_ms > 1 else 0.0
    if not text:
        times: Times = (np.zeros(0),) * 5
    elif grain == "word":
        times = time_given_words(captions, speech.length_s, speech.fastest_s, step_s)
    else:
        times = _estimate(captions, counts, speech, grain, step_s, duration_ms)
    start, end, earliest, latest, u = times
    pause = np.maximum(0.0, start - np.append(0.0, end[:-1])) if text else start
    speaker = tuple([caption.speaker for caption in captions for _ in caption.tokens])
    opens, closes = sentence_breaks(speech.stop, pause, speaker, caption_of, grain)
    return Words(
        text=text,
        norm=tuple(map([fact.norm for fact in facts].__getitem__, which.tolist())),
        speaker=speaker,
        start_s=start,
        end_s=end,
        earliest_s=earliest,
        latest_s=latest,
        u_s=u,
        pause_s=pause,
        opens=opens,
        closes=closes,
        caption=caption_of,
    )


def _speech(facts: Sequence[Spoken], which: Ints) -> _Speech:
    """Return how the words are spoken, each as the fact at its place in ``which`` has it.

    A descending count runs at a number a second.
    """
    syllables = np.array([fact.syllables for fact in facts], dtype=np.float64)[which]
    length = np.array([fact.length_s for fact in facts], dtype=np.float64)[which]
    stop = np.array([fact.stop for fact in facts], dtype=np.int64)[which]
    pause = np.where(stop == SENTENCE_END, PAUSE_SENTENCE_S, np.where(stop == COMMA, PAUSE_COMMA_S, 0.0))
    weight = np.where(stop == SENTENCE_END, WEIGHT_SENTENCE, np.where(stop == COMMA, WEIGHT_COMMA, WEIGHT_WORD))
    steps = count_steps(
        np.array([fact.number for fact in facts], dtype=np.int64)[which],
        np.array([fact.maybe for fact in facts], dtype=np.int64)[which],
    )
    if steps.any():
        counted = steps.copy()
        counted[1:] |= steps[:-1]
        length = np.where(counted, np.maximum(length, COUNTED_S), length)
        pause = np.where(steps, np.maximum(COUNT_STEP_S - length, PAUSE_COMMA_S), pause)
        weight = np.where(steps, WEIGHT_COUNT, weight)
    return _Speech(length, syllables * FASTEST_SYLLABLE_S, stop, pause, weight, steps)


def count_steps(number: Ints, maybe: Ints) -> Bools:
    """Return True at each word that a count down leads on from: the next word is the next lower number.

    Shape (n,), both; ``NOT_A_NUMBER`` where a word is none. A number misheard for another word counts between two
    real ones ("three to one").
    """
    steps = np.zeros(len(number), dtype=np.bool_)
    if len(number) < 2:
        return steps
    real = number != NOT_A_NUMBER
    steps[:-1] = real[:-1] & (number[1:] == number[:-1] - 1)
    if len(number) > 2:
        through = real[:-2] & (maybe[1:-1] == number[:-2] - 1) & (number[2:] == number[:-2] - 2)
        steps[:-2] |= through
        steps[1:-1] |= through
    return steps


def _estimate(
    captions: Sequence[Caption],
    counts: Ints,
    speech: _Speech,
    grain: Grain,
    step_s: float,
    duration_ms: int | None,
) -> Times:
    """Return start, end, earliest, latest and u of words whose captions alone have times."""
    groups = _groups(captions, counts, speech, grain, duration_ms)
    speech, fill_s = _at_speakers_rate(speech, groups)
    pause, weight = speech.pause_s.copy(), speech.weight.copy()
    final = groups.last - 1
    pause[final] = 0.0
    weight[final] = _end_weight(speech.stop, final, groups.open, grain)
    room = groups.end_s - groups.start_s
    spoken_s = _sums(speech.length_s, groups)
    paused_s, weights = _sums(pause, groups), _sums(weight, groups)
    free = np.maximum(0.0, room - spoken_s)
    surplus = np.maximum(0.0, free - paused_s)
    drawn = WEIGHT_STRETCH * spoken_s
    stretch = np.minimum(surplus * drawn / (drawn + weights), MAX_STRETCH * spoken_s)
    factor = np.minimum(1.0, room / spoken_s) + stretch / spoken_s
    filled = np.minimum(1.0, free / np.maximum(paused_s, 1e-9))
    size = groups.last - groups.first
    each = np.repeat(np.arange(len(size)), size)
    length = speech.length_s * factor[each]
    pauses = pause * filled[each] + weight * ((surplus - stretch) / weights)[each]
    ahead = _before(length + pauses, groups, size)
    base = groups.start_s[each]
    start = base + ahead + STEP_SHIFT * step_s
    beat = np.where(speech.counting & (pause > 0), pause * filled[each], 0.0)
    variance = _variance(length, beat, pauses - beat, weights, stretch / spoken_s, groups)
    if grain == "cue":  # speech may be over before its caption is: the later a word, the more this moves it
        variance += (fill_s * ahead / room[each]) ** 2
    variance += (groups.end_u[each] * ahead) ** 2
    u = np.sqrt(variance + EDGE_U_S[grain] ** 2 + (STEP_U * step_s) ** 2)
    least = _sums(speech.fastest_s, groups)
    pace = np.minimum(1.0, room / least)[each]
    before = _before(speech.fastest_s, groups, size)
    slack = EDGE_SLACK_S[grain]
    earliest = base - slack - step_s / 2 + pace * before
    latest = groups.hard_end_s[each] + slack + step_s - pace * (least[each] - before)
    return _settle(start, start + length, earliest, latest, u)


def _variance(
    length: Floats, beat: Floats, silence: Floats, weights: Floats, drawn_out: Floats, groups: _Groups
) -> Floats:
    """Return the variance of each onset inside its group, seconds squared, shape (n,).

    ``length`` of each word, ``beat`` the pauses that a count's pace sets, ``silence`` all others, shape (n,);
    ``weights`` of the group's pauses, ``drawn_out`` the share by which its words are drawn out, shape (g,).
    Three parts: how the silence is shared (Dirichlet: total^2 p (1 - p) / (weight + 1)); the speaking rate, as far as
    the silence lets it vary; each word's and beat's own length, with both ends of the group held.
    """
    size = groups.last - groups.first
    each = np.repeat(np.arange(len(size)), size)
    fluent = length + beat
    fluent_s, silent_s = _sums(fluent, groups), _sums(silence, groups)
    total = silent_s[each]
    share = np.where(total > 1e-9, _before(silence, groups, size) / np.maximum(total, 1e-9), 0.0).clip(0.0, 1.0)
    sharing = total**2 * share * (1 - share) / (weights[each] + 1)
    rate = np.minimum(np.hypot(RATE_SPREAD, drawn_out / 2), silent_s / fluent_s)[each]
    rating = (rate * (_before(fluent, groups, size) - fluent_s[each] * share)) ** 2
    own = (WORD_SPREAD * length) ** 2 + (BEAT_SPREAD * beat) ** 2
    ahead, whole = _before(own, groups, size), _sums(own, groups)[each]
    return np.asarray(sharing + rating + ahead * (1 - ahead / whole), dtype=np.float64)


def _settle(start: Floats, end: Floats, earliest: Floats, latest: Floats, u: Floats) -> Times:
    """Return the times with every promise kept: onsets ascend, ends reach no further than the next onset."""
    earliest = np.maximum(0.0, earliest)
    start = np.maximum.accumulate(np.clip(start, earliest, np.maximum(earliest, latest)))
    latest = np.maximum(latest, start)
    end = np.maximum(start, np.minimum(end, np.append(start[1:], np.inf)))
    return start, end, np.minimum(earliest, start), latest, u


def _sums(values: Floats, groups: _Groups) -> Floats:
    """Return the sum of a word array over each group, shape (g,)."""
    total = np.add.reduceat(values, groups.first)
    return np.asarray(total, dtype=np.float64)


def _before(values: Floats, groups: _Groups, size: Ints) -> Floats:
    """Return the sum of the values of the words before each word in its group, shape (n,)."""
    running = np.cumsum(values) - values
    return np.maximum(0.0, running - np.repeat(running[groups.first], size))


def _end_weight(stop: Ints, final: Ints, is_open: Bools, grain: Grain) -> Floats:
    """Return the weight of silence before each group's end."""
    if is_sparse(stop):
        after = np.full(len(final), WEIGHT_UNMARKED_END[grain])
    else:
        after = np.array(WEIGHT_END[grain])[stop[final]]
    return np.where(is_open, after, WEIGHT_TIGHT_END)


def _groups(
    captions: Sequence[Caption], counts: Ints, speech: _Speech, grain: Grain, duration_ms: int | None
) -> _Groups:
    """Return the groups: captions that start too close for their words to be said are put together."""
    first = np.cumsum(counts) - counts
    starts = np.maximum.accumulate([caption.start_ms / 1000 for caption in captions])
    nan = float("nan")
    ends = np.array([nan if caption.end_ms is None else caption.end_ms / 1000 for caption in captions])
    ends[~(ends > starts)] = nan
    least = np.add.reduceat(speech.fastest_s, first) * ROOM_SHARE
    heads = [0]
    until = starts[0] + least[0]
    for index, (begin, need) in enumerate(zip(starts.tolist(), least.tolist(), strict=True)):
        if index and begin >= until:
            heads.append(index)
            until = begin
        until += need if index else 0.0
    head = np.array(heads, dtype=np.int64)
    group_first = first[head]
    group_start = starts[head]
    following = np.append(group_start[1:], np.inf)
    natural = 1.2 * np.add.reduceat(speech.length_s + speech.pause_s, group_first)
    given = np.fmax.reduceat(ends, head)
    fallback = group_start + natural
    if duration_ms is not None:
        following[-1] = max(duration_ms / 1000, float(group_start[-1] + 0.3 * natural[-1]))
    missing = np.isnan(given)
    longest = np.where(np.isinf(following), np.maximum(fallback, _usual_end(group_start)), following)
    hard_end = np.where(missing, np.minimum(following, fallback) if grain == "cue" else longest, given)
    end = np.minimum(hard_end, following)
    end_u = np.zeros(len(end))
    if grain == "stamp" and missing[-1] and np.isinf(following[-1]):
        end[-1], end_u[-1] = _talked_until(group_start, natural, float(hard_end[-1]))
    is_open = np.append(following[:-1] - end[:-1] < GAP_S, bool(missing[-1]))
    last = np.append(group_first[1:], int(counts.sum()))
    end = np.maximum(end, group_start + 1e-3)
    return _Groups(group_first, last, group_start, end, np.maximum(hard_end, end), is_open, end_u)


def _usual_end(group_start: Floats) -> float:
    """Return when the last stamped paragraph is over if it lasts as long as the others do."""
    return float(group_start[-1] + (np.median(np.diff(group_start)) if len(group_start) > 2 else 0.0))


def _talked_until(group_start: Floats, natural: Floats, longest_s: float) -> tuple[float, float]:
    """Return when the last stamped paragraph is over, and how well that is known as a share of its length.

    Nothing follows that would end it, and the class mostly ends before the next stamp is due: so many words need, at
    the pace of the paragraphs before it, so much time. ``natural`` is the seconds each paragraph's words need, shape
    (g,); ``longest_s`` when the next stamp would be due.
    """
    begin = float(group_start[-1])
    if len(group_start) < FEWEST_PARAGRAPHS:
        return longest_s, 0.0
    low, middle, high = np.quantile(np.diff(group_start) / natural[:-1], (0.25, 0.5, 0.75)).tolist()
    until = min(longest_s, begin + float(natural[-1]) * max(1.0, middle))
    return until, (high - low) / 1.35 / middle


def _at_speakers_rate(speech: _Speech, groups: _Groups) -> tuple[_Speech, float]:
    """Return the lengths scaled to this speaker, and the spread in seconds of how phrases fill their captions.

    Both are read from captions that hold one phrase (20 at least). As silence at the end only lengthens them, the
    rate is taken below their median. Where there are none, as with stamps, only a speaker who is faster than natural
    shows: in the fullest tenth of the groups.
    """
    room = groups.end_s - groups.start_s
    size = groups.last - groups.first
    inner = speech.pause_s.copy()
    inner[groups.last - 1] = 0.0
    spoken_s, paused_s = _sums(speech.length_s, groups), _sums(inner, groups)
    ratio = (room - paused_s) / spoken_s
    phrases = ~groups.open & (paused_s < PAUSE_SENTENCE_S) & (size >= 4) & (ratio > 0) & (ratio < 2.5)
    factor, spread = 1.0, FILL_SPREAD_S
    if phrases.sum() >= 20:
        factor = float(np.clip(np.quantile(ratio[phrases], 0.35), 0.7, 1.4))
        low, high = np.quantile((room - paused_s - factor * spoken_s)[phrases], (0.25, 0.75))
        spread = float(np.clip((high - low) / 1.35, *FILL_SPREAD_RANGE_S))  # quartiles of a normal lie 1.35 sd apart
    elif len(size) >= 20:
        factor = float(np.clip(np.quantile(room / (spoken_s + paused_s / 2), 0.1), 0.7, 1.0))
    return replace(speech, length_s=speech.length_s * factor), spread
