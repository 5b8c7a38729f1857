"""What the words say for and against a boundary at each candidate: every number in one place, with its reason.

Conventions: all values in nats, clipped, added to the log priors of :mod:`analyzer.alignment.priors`. ``start`` and
``end`` are arrays over candidates; ``inside`` arrays are running sums up to each candidate, so that a stretch from b
to c earns ``inside[c] - inside[b]``. The numbers were set by judgement (common practice, no source) and then fitted, in
2026-11, to hand-written and to generated classes by ``tests/tools/fit_evidence.py``, which keeps near its start what
the classes say little of: strong enough to overrule the human part of a length prior, weak enough that one misheard
word cannot move a boundary far.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.alignment.candidates import Candidates
from analyzer.language import current_language, load_language
from analyzer.model.events import Count, Event, Events, Mention, MoveRef, Signal, TimeCall
from analyzer.model.plan import Side
from analyzer.model.transcript import Floats, Transcript, Words


@dataclass(frozen=True, slots=True)
class Weights:
    """Strengths in nats. Each says why it is as large as it is."""

    count_ends: float = 5.4
    """A count to nought marks an end better than anything else said."""
    count_starts: float = 3.3
    """And a start less well: most counts lead out of work."""
    count_ignored: float = -2.6
    """A whole count inside work, or in a rest without a start at its end: it happens, rarely."""
    count_cut: float = -3.0
    """A boundary in the middle of a count."""
    call_near: float = 3.6
    """An end (or start) where a time call puts it, on top of ``call_open``."""
    call_open: float = -0.8
    """Any call inside work: paid back where the boundary fits, so a wrong call costs a nat and no more."""
    call_in_gap: float = -1.2
    """Time calls belong to work; a few are about rests."""
    half_fits: float = 2.75
    half_open: float = -0.8
    name_starts: float = 1.1
    """The move's own name within a few seconds of its start."""
    name_absent: float = -1.5
    """A first start whose name is heard neither in the twenty seconds before nor in the ten after."""
    name_led: float = 1.75
    """The name in the twenty seconds before, in passing."""
    name_announced: float = 2.0
    """The same, marked as coming next."""
    announcing: float = -0.3
    """Work does not begin with the sentence that announces it."""
    name_other: float = -0.9
    """Another move's name right at the start, unmarked as a preview."""
    name_inside: float = 0.3
    name_other_inside: float = -0.5
    name_in_gap: float = 0.1
    start_word: float = 3.3
    stop_word: float = 2.5
    relief_word: float = 1.7
    """Praise and shaking out follow work."""
    closing_word: float = 1.2
    """An end two to seven seconds after "one more" or "last two": there ends half of the work in which it is said, of
    other work a tenth (written classes, 2026-11)."""
    preview_after_end: float = 0.15
    """The next move is announced right after the end about as often as before it."""
    preview_before_end: float = 1.1
    """Or in the last quarter of a minute of work: an end soon after a preview."""
    preview_inside: float = -0.25
    """A preview inside work: paid back where the end is near."""
    own_preview_inside: float = -0.4
    """Nobody announces what is already being done (on top of ``preview_inside``)."""
    second_marked: float = 1.0
    """"Other side", or the side's name, where the second side starts."""
    second_unmarked: float = -1.0
    """A second side that nothing marks: most are, if only by the side's name."""
    side_match: float = 1.6
    round_word: float = 0.75
    round_told: float = 1.2
    """Which round it is: told so before five in six of the rounds before which it is told at all."""
    round_inside: float = -0.8
    """Rounds are told off between them, not in mid-work."""
    round_explained: float = 1.5
    """A first round starts after three moves of its block were named, nine times in ten, a later one hardly ever."""
    effort_inside: float = 0.15
    effort_in_gap: float = -0.3
    rest_talk_inside: float = -0.5
    """Relief, water or goodbye inside work."""
    demo_inside: float = -0.7
    start_bare: float = -2.0
    """A start without any mark: most have a count, a start word or a pause. What is marked earns it back."""
    end_bare: float = -1.6
    """The same for ends: without it, intervals that are not there would fit anywhere. (Stamps have paid already: an
    edge laid out over its possible times costs as much.)"""
    start_unsaid: float = -1.8
    """Work that begins where no sentence does."""
    begins_moment: float = 0.6
    """A nat by which words sound like work beginning (clipped)."""
    stops_moment: float = 0.6
    """A nat by which they sound like work having ended (clipped)."""
    obeyed: float = 2.0
    """On top of that, where a pause follows those words: people stop once they have heard what stops them."""
    works_inside: float = 0.12
    """A nat by which a run of words sounds like said during work (clipped)."""
    opening_pause: float = 0.5
    """A silence of a second and a half before a first word; shorter ones by their share."""


WEIGHTS = Weights()
MOMENT_NATS, MOMENT_INSIDE = (-6.0, 7.0), 2.0  # words alone never say more than this, of a break and of a run
UNCERTAIN_TRUST, BARE_TRUST = 0.6, 0.4
DRAWN_OUT = 0.2  # a count after which the work goes on all the same
LONG_PAUSE_S = 1.5
CLOSES_S = (2.0, 6.0)  # seconds from "one more" to the end
LEAD_FADES = ([0.0, 6.0, 14.0, 32.0], [1.0, 1.0, 0.75, 0.0])  # seconds from a name to the start it leads to, its share


@dataclass(frozen=True, slots=True, eq=False)
class Shared:
    """Evidence that is the same for every planned interval; arrays over candidates."""

    start: Floats
    end: Floats
    inside: Floats
    gap_inside: Floats
    lands: Floats
    """What a count gives to ``start``: not to be given when an end just before it had it."""


def _running(events: Sequence[Event], values: Sequence[float], at: Candidates) -> Floats:
    """Return, for each candidate, the sum of the values of events that began before its word."""
    if not events:
        return np.zeros(len(at))
    first = np.array([e.first for e in events])
    order = np.argsort(first, kind="stable")
    sums = np.concatenate([[0.0], np.cumsum(np.asarray(values, float)[order])])
    total: Floats = sums[np.searchsorted(first[order], at.word, side="left")]
    return total


def _near(at: Candidates, begin_s: float, finish_s: float, reach_s: float) -> tuple[slice, Floats]:
    """Return the candidates within ``reach_s`` of a stretch and how near they are (1 inside it, falling to 0)."""
    where = at.between(begin_s - reach_s, finish_s + reach_s)
    t = at.time_s[where]
    near = np.maximum(begin_s - t, t - finish_s)  # how far away
    np.maximum(near, 0.0, out=near)
    near *= -1.0 / reach_s
    near += 1.0
    return where, near


def _raise_to(target: Floats, where: slice, values: Floats) -> None:
    """Put ``values`` where they exceed what is there: the best of several like marks, not their sum."""
    np.maximum(target[where], values, out=target[where])


def _bell(t: Floats, centre: float, width: float) -> Floats:
    value: Floats = np.exp(-0.5 * np.square((t - centre) / width))
    return value


def _count_marks(at: Candidates, counts: Sequence[Count], words: Words, w: Weights) -> tuple[Floats, Floats]:
    """Return how well a count lands at each candidate (0 to 1), and what counts cut there say against it (nats)."""
    lands, cut = np.zeros(len(at)), np.zeros(len(at))
    for count in counts:
        if count.role == "seconds":
            width = 0.7 + float(words.u_s[count.last])
            here = at.between(count.lands_s - 4 * width, count.lands_s + 4 * width)
            strength = (1.0 if len(count.numbers) > 1 else 0.5) * (DRAWN_OUT if count.goes_on else 1.0)
            _raise_to(lands, here, strength * _bell(at.time_s[here], count.lands_s, width))
        cut[(at.word > count.positions[0]) & (at.word <= count.last)] = w.count_cut
    return lands, cut


def _call_targets(call: TimeCall, longest_s: float) -> list[float]:
    """Return the seconds a call may have meant: as heard, and as its sound-alike; none longer than any interval."""
    said = float(call.seconds or 0.0)
    twin = load_language(current_language()).numbers.sound_alike(said)
    readings = [said] if twin is None else [said, twin]
    return [r for r in readings if r <= longest_s] or [said]


def _trust(call: TimeCall) -> float:
    """Return how far a call's words are taken for a call."""
    return 1.0 if call.certain else BARE_TRUST if call.bare else UNCERTAIN_TRUST


def _call_marks(at: Candidates, calls: Sequence[TimeCall], longest_s: float, w: Weights) -> tuple[Floats, Floats]:
    """Return what calls say about starts ("gone") and ends ("left"), shapes (m,)."""
    start, end = np.zeros(len(at)), np.zeros(len(at))
    for call in calls:
        if call.scope != "interval" or call.kind == "half":
            continue
        trust = _trust(call)
        for k, said in enumerate(_call_targets(call, longest_s)):
            target, centre = (end, call.at_s + said) if call.kind == "left" else (start, call.at_s - said)
            width = 1.5 + 0.06 * said + call.u_s
            here = at.between(centre - 4 * width, centre + 4 * width)
            bonus = trust * (w.call_near - 0.8 * k) * _bell(at.time_s[here], centre, width)
            side = at.time_s[here] > call.at_s if call.kind == "left" else at.time_s[here] < call.at_s
            target[here] += np.where(side, bonus, 0.0)
    return start, end


def _signal_marks(at: Candidates, signals: Sequence[Signal], w: Weights) -> tuple[Floats, Floats]:
    """Return what start, stop and relief words say about starts and ends, shapes (m,)."""
    start, end = np.zeros(len(at)), np.zeros(len(at))
    for s in signals:
        if s.kind == "start":
            where, near = _near(at, s.at_s - 0.3, s.end_s + 0.3, 2.0 + s.u_s)
            _raise_to(start, where, w.start_word * s.strength * near)
        elif s.kind == "stop":
            where, near = _near(at, s.at_s - 0.3, s.end_s + 0.8, 1.5 + s.u_s)
            _raise_to(end, where, w.stop_word * s.strength * near)
        elif s.kind in ("relief", "water", "goodbye"):
            where, near = _near(at, s.at_s - 2.0, s.at_s, 1.0 + s.u_s)
            _raise_to(end, where, w.relief_word * s.strength * near)
    return start, end


def _closing_marks(at: Candidates, signals: Sequence[Signal], w: Weights) -> Floats:
    """Return what talk of the last repetitions says about ends, nats, shape (m,)."""
    end = np.zeros(len(at))
    for s in signals:
        if s.kind == "closing":
            where, near = _near(at, s.end_s + CLOSES_S[0], s.end_s + CLOSES_S[1], 2.0 + s.u_s)
            _raise_to(end, where, w.closing_word * s.strength * near)
    return end


def _moment_marks(at: Candidates, events: Events, words: int, w: Weights) -> tuple[Floats, Floats]:
    """Return how the breaks at the candidates lean to a start and to an end, nats, shapes (m,)."""
    moments = events.moments
    begins, stops = np.zeros(words + 1), np.zeros(words + 1)
    obeyed = np.full(words + 1, MOMENT_NATS[0])
    heads = [m.first for m in moments]
    begins[heads] = np.clip([m.begins for m in moments], *MOMENT_NATS)
    stops[heads] = np.clip([m.stops for m in moments], *MOMENT_NATS)
    obeyed[heads[1:]] = stops[heads[:-1]] + w.obeyed
    end = np.where(at.trail, np.maximum(stops, obeyed)[at.word], stops[at.word])
    return np.where(at.trail | at.silent, 0.0, begins[at.word]), end


def shared_evidence(
    at: Candidates, transcript: Transcript, events: Events, longest_s: float, w: Weights = WEIGHTS
) -> Shared:
    """Return the evidence that does not depend on which interval it is; ``longest_s`` is the longest planned work."""
    words = transcript.words
    lands, cut = _count_marks(at, events.counts, words, w)
    call_start, call_end = _call_marks(at, events.calls, longest_s, w)
    sig_start, sig_end = _signal_marks(at, events.signals, w)
    begins, stops = _moment_marks(at, events, len(words), w)
    base = at.log_p + cut
    at_word = np.minimum(at.word, len(words) - 1)
    heard = transcript.grain != "stamp"  # a stamped paragraph hides its silences
    opening = heard * w.opening_pause * np.clip(words.pause_s[at_word] / LONG_PAUSE_S, 0.0, 1.0)
    pause = np.where(at.trail | at.silent, w.start_unsaid, opening)
    preview = np.zeros(len(at))
    for m in events.mentions:
        if m.context in ("preview", "demo"):
            where, near = _near(at, m.at_s - 2.5, m.at_s, 2.0 + m.u_s)
            _raise_to(preview, where, w.preview_after_end * m.score * near)
        if m.context == "preview":
            where, near = _near(at, m.end_s, m.end_s + 10.0, 8.0 + m.u_s)
            near = np.where(at.time_s[where] > m.at_s, near, 0.0)
            _raise_to(preview, where, w.preview_before_end * m.score * near)
    inside, gap_inside = _stretch_sums(at, events, w)
    told_end = np.maximum(sig_end, preview) + 0.3 * np.minimum(sig_end, preview)
    told_start, told_end = sig_start + w.begins_moment * begins, told_end + w.stops_moment * stops
    told_end = told_end + _closing_marks(at, events.signals, w)
    return Shared(
        start=base + heard * w.start_bare + w.count_starts * lands + call_start + told_start + pause,
        end=base + heard * w.end_bare + w.count_ends * lands + call_end + told_end,
        inside=inside,
        gap_inside=gap_inside,
        lands=w.count_starts * lands,
    )


def _open(call: TimeCall, w: Weights) -> float:
    """Return what a call costs that is not paid back."""
    return (w.half_open if call.kind == "half" else w.call_open) * (_trust(call) if call.bare else 1.0)


def _stretch_sums(at: Candidates, events: Events, w: Weights) -> tuple[Floats, Floats]:
    """Return running sums of what speaks for and against work, and against a gap."""
    calls = [c for c in events.calls if c.scope == "interval"]
    counts = [c for c in events.counts if c.role == "seconds" and not c.goes_on]
    work = {
        "effort": w.effort_inside,
        "closing": w.effort_inside,
        "relief": 0.5 * w.rest_talk_inside,
        "water": w.rest_talk_inside,
        "goodbye": 3 * w.rest_talk_inside,
        "demo": w.demo_inside,
        "round": w.round_inside,
    }
    inside = _running(events.signals, [work.get(s.kind, 0.0) * s.strength for s in events.signals], at)
    inside = inside + _running(calls, [_open(c, w) for c in calls], at)
    inside = inside + _running(counts, [w.count_ignored] * len(counts), at)
    works = np.clip([m.works for m in events.moments], -MOMENT_INSIDE, MOMENT_INSIDE)
    inside = inside + _running(events.moments, (w.works_inside * works).tolist(), at)
    effort = [s for s in events.signals if s.kind in ("effort", "closing")]
    previews = [m for m in events.mentions if m.context == "preview"]
    inside = inside + _running(previews, [w.preview_inside * m.score for m in previews], at)
    gap = _running(effort, [w.effort_in_gap * s.strength for s in effort], at)
    gap = gap + _running(calls, [w.call_in_gap * (_trust(c) if c.bare else 1.0) for c in calls], at)
    gap = gap + _running(counts, [0.5 * w.count_ignored] * len(counts), at)
    plain = [m for m in events.mentions if m.context == "plain"]
    gap = gap + _running(plain, [w.name_in_gap * m.score for m in plain], at)
    return inside, gap


def half_pairs(
    at: Candidates,
    calls: Sequence[TimeCall],
    add: Callable[[slice, slice, Floats], None],
    w: Weights = WEIGHTS,
) -> None:
    """Hand ``add`` the bonus of "half-way" for stretches (rows b, columns c) around each such call.

    A half-way call couples start and end: it fits when it lies near the middle of the stretch.
    """
    for call in calls:
        if call.kind != "half" or call.scope != "interval":
            continue
        low, mid, high = np.searchsorted(at.time_s, [call.at_s - 150.0, call.at_s, call.at_s + 150.0])
        b, c = at.time_s[low:mid, None], at.time_s[None, mid:high]
        if b.size == 0 or c.size == 0:
            continue
        width = 1.5 + 0.05 * (c - b) + call.u_s
        bonus = w.half_fits * np.exp(-0.5 * np.square((call.at_s - 0.5 * (b + c)) / width))
        add(slice(int(low), int(mid)), slice(int(mid), int(high)), (_trust(call) if call.bare else 1.0) * bonus)


@dataclass(frozen=True, slots=True, eq=False)
class NameEvidence:
    """What names say about one planned move: arrays over candidates. ``again``: for a second side's start."""

    start: Floats
    again: Floats
    inside: Floats


@dataclass(frozen=True, slots=True, eq=False)
class NamesHeard:
    """What every name says wherever it is not one's own: arrays over candidates."""

    start: Floats
    inside: Floats


def names_heard(at: Candidates, mentions: Sequence[Mention], w: Weights = WEIGHTS) -> NamesHeard:
    """Return what plain names say against some other move's start at each candidate, and against being inside it."""
    plain = [m for m in mentions if m.context == "plain"]
    start = np.zeros(len(at))
    for m in plain:
        where, near = _near(at, m.at_s - 2.0, m.at_s, 2.0 + m.u_s)
        np.minimum(start[where], w.name_other * m.score * near, out=start[where])
    return NamesHeard(start, _running(plain, [w.name_other_inside * m.score for m in plain], at))


def name_evidence(
    at: Candidates, mentions: Sequence[Mention], ref: MoveRef, others: NamesHeard, w: Weights = WEIGHTS
) -> NameEvidence:
    """Return what the names heard say about ``ref`` starting at each candidate, and about being inside it.

    ``others`` is :func:`names_heard`; where the move's own name is near a start, no other name counts against it.
    """
    own, led, announced = np.zeros(len(at)), np.zeros(len(at)), np.zeros(len(at))
    mine = [m for m in mentions if ref in m.moves]
    values = []
    for m in mine:
        trust = m.score / len({move for move in m.moves if move[0] == ref[0]}) ** 0.5
        if m.context in ("plain", "demo"):
            where, near = _near(at, m.at_s - 2.5, m.at_s + 0.3, 5.0 + m.u_s)
            early = at.time_s[where] <= m.at_s + 0.6 + m.u_s
            fade = 1.0 if m.context == "plain" else 0.5
            _raise_to(own, where, np.where(early, fade * w.name_starts * trust * near, 0.0))
        if m.context != "past":
            here = at.between(m.at_s + 0.5, m.at_s + 40.0)
            fall = np.interp(at.time_s[here] - m.at_s - m.u_s, *LEAD_FADES)
            value = {"preview": w.name_announced, "plain": w.name_led, "demo": 0.4 * w.name_led}[m.context]
            _raise_to(led, here, value * trust * fall)
        if m.context == "preview":
            where, near = _near(at, m.at_s - 1.0, m.at_s + 0.2, 1.0 + m.u_s)
            np.minimum(announced[where], w.announcing * trust * near, out=announced[where])
        # a plain name is taken out of what speaks against and put to what speaks for
        plain = w.name_inside * trust - w.name_other_inside * m.score
        values.append({"plain": plain, "preview": w.own_preview_inside * trust}.get(m.context, 0.0))
    named = np.maximum(own, led) + 0.4 * np.minimum(own, led)
    named = named + w.name_absent * np.clip(1.0 - named, 0.0, 1.0)
    other = np.where(own > 0.3, 0.0, np.minimum(others.start, announced))
    return NameEvidence(named + other, 0.3 * own + other, others.inside + _running(mine, values, at))


def side_evidence(at: Candidates, events: Events, side: Side | None, second: bool, w: Weights = WEIGHTS) -> Floats:
    """Return what side words say about a start on ``side`` at each candidate (``second``: after a switch)."""
    total = np.zeros(len(at))
    if side is None:
        return total
    for call in events.sides:
        if call.corrected:
            continue
        where, near = _near(at, call.at_s - 3.0, call.at_s + 3.0, 5.0 + call.u_s)
        total[where] += (w.side_match if call.side == side else -w.side_match) * near
    np.clip(total, -1.5 * w.side_match, 1.5 * w.side_match, out=total)
    if second:
        marked = np.clip(total / w.side_match, 0.0, 1.0)
        for s in events.signals:
            if s.kind == "switch":
                where, near = _near(at, s.at_s - 0.5, s.end_s + 0.5, 2.5 + s.u_s)
                _raise_to(marked, where, s.strength * near)
        total = total + w.second_unmarked + marked * (w.second_marked - w.second_unmarked)
    return total
