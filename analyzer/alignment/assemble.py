"""Puts candidates, evidence, priors and graph together into the problem that the dynamic programme solves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from analyzer.alignment import priors
from analyzer.alignment.candidates import Candidates
from analyzer.alignment.decode import Problem, Through, Way
from analyzer.alignment.evidence import (
    WEIGHTS,
    NameEvidence,
    NamesHeard,
    Weights,
    explained,
    half_pairs,
    name_evidence,
    names_heard,
    round_evidence,
    shared_evidence,
    side_evidence,
)
from analyzer.alignment.graph import END, START, Arc, Graph
from analyzer.alignment.kernels import NEG, Band, Blocks, Window, cover
from analyzer.alignment.priors import LengthPrior
from analyzer.model.events import Events, Mention, MoveRef
from analyzer.model.plan import Schedule, Side
from analyzer.model.transcript import Floats, Ints, Transcript

MIN_WORK_S = 4.0
MIN_WORK_SHARE = 0.35  # less than a third of the plan is not that interval worked
STEP_S = 0.05
LOG_BACKGROUND = float(np.log(priors.BACKGROUND_S))
MANY_STEPS = 100_000  # of a table of lengths: more than an hour and a half
# The weights of evidence are set one by one; together they come out too shy: of the slips given one chance in two, two
# in three were real (invented classes, 2026-11). This evens it.
EVIDENCE_SCALE = 1.35
LOOSE_S = 20.0  # usual gap where something was skipped or strayed
Span = tuple[float, float]
ONE_CHANGE_S = 2.5  # an end and a start this close are one change to a count
EARNED = 2.5  # nats that an interval in its place usually earns from names and lengths
EARNED_COUNT = 5.5  # and from each count to a change
JOIN_S = 1.2  # a join without rest still takes a breath: the usual gap where the plan says none
_EXTRA_FADE = 0.7  # a name counts less for work that the plan does not have


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Evidence arrays for every node, (m,) each, shared by nodes that are alike; the half-way bonus of pairs,
    (m, band); the tilt, (m,); what counts alone say, (m,)."""

    start: tuple[Floats, ...]
    end: tuple[Floats, ...]
    pairs: Floats
    tilt: Floats
    lands: Floats

    def of_nodes(self, nodes: Sequence[int]) -> Marks:
        """Return the marks of some nodes, ascending."""
        return replace(self, start=tuple(self.start[k] for k in nodes), end=tuple(self.end[k] for k in nodes))

    def at_candidates(self, keep: Ints) -> Marks:
        """Return the marks at some candidates, as an ascending index array."""
        band = self.pairs.shape[1]
        target = keep[np.minimum(np.arange(len(keep))[:, None] + np.arange(band), len(keep) - 1)]
        step = target - keep[:, None]
        pairs = np.where(step < band, self.pairs[keep[:, None], np.minimum(step, band - 1)], 0.0)
        cut: dict[int, Floats] = {}
        for row in (*self.start, *self.end):
            if id(row) not in cut:
                cut[id(row)] = row[keep]
        start, end = (tuple(cut[id(row)] for row in rows) for rows in (self.start, self.end))
        return Marks(start, end, pairs, self.tilt[keep], self.lands[keep])


@dataclass(frozen=True, slots=True)
class Windows:
    """The candidates, first to last + 1, that each node may start and end at."""

    start: tuple[Window, ...]
    end: tuple[Window, ...]


def work_reach_s(length_s: float) -> float:
    """Return the longest work considered for a planned length, in seconds."""
    return 1.8 * length_s + 25.0


def gap_reach_s(gap_s: float, talk: bool) -> float:
    """Return the longest gap considered for a planned one, in seconds."""
    return 1.4 * gap_s + (120.0 if talk else 70.0)


def gather_marks(
    transcript: Transcript,
    schedule: Schedule,
    events: Events,
    at: Candidates,
    graph: Graph,
    longest_s: float,
    w: Weights = WEIGHTS,
) -> Marks:
    """Return what the words say about each node."""
    shared = shared_evidence(at, transcript, events, max(n.length_s for n in graph.nodes), w)
    others = names_heard(at, events.mentions, w)
    named = _names(schedule, events, at, others, w)
    extra = _Named(
        _EXTRA_FADE * np.max([n.start for n in named.values()], axis=0),
        _EXTRA_FADE * np.max([n.inside for n in named.values()], axis=0),
    )
    sides = {key: side_evidence(at, events, *key, w) for key in {(n.side, n.second) for n in graph.nodes}}
    opened = _opened(graph, schedule)
    rounds = _rounds(at, events, opened, w)
    rows: dict[tuple[int, Side | None, bool, _Opened], tuple[Floats, Floats]] = {}
    marked = []
    for node, turn in zip(graph.nodes, opened, strict=True):
        own = extra
        if node.planned is not None:
            iv = schedule.intervals[node.planned]
            name = named[(iv.block, iv.move)]
            own = _Named(name.again if node.second else name.start, name.inside)
        key = (id(own.start), node.side, node.second, turn)
        if key not in rows:
            inside = shared.inside + own.inside - shared.gap_inside
            start = shared.start + own.start + sides[(node.side, node.second)] - inside
            if node.round_opens:
                start = start + rounds[turn]
            rows[key] = (EVIDENCE_SCALE * start, EVIDENCE_SCALE * (shared.end + inside))
        marked.append(rows[key])
    band = band_of(at.time_s, longest_s)
    pairs = np.zeros((len(at), band))

    def add(rows: slice, columns: slice, bonus: Floats) -> None:
        b = np.arange(rows.start, rows.stop)[:, None]
        c = np.arange(columns.start, columns.stop)[None, :]
        step = np.broadcast_to(c - b, bonus.shape)
        use = (step >= 0) & (step < band)
        pairs[np.broadcast_to(b, bonus.shape)[use], step[use]] += bonus[use]

    half_pairs(at, events.calls, add, w)
    lands = np.sort([c.lands_s for c in events.counts if c.role == "seconds"])
    tilt = EARNED_COUNT * np.searchsorted(lands, at.time_s).astype(np.float64)
    starts, ends = (tuple(rows) for rows in zip(*marked, strict=True))
    return Marks(starts, ends, EVIDENCE_SCALE * pairs, tilt, EVIDENCE_SCALE * shared.lands)


_Opened = tuple[int, int, int]
"""A round that a node opens, 0 for none; how many its block has; the block."""


def _opened(graph: Graph, schedule: Schedule) -> list[_Opened]:
    """Return for each node the round that it opens."""
    last: dict[int, int] = {}
    for iv in schedule.intervals:
        last[iv.block] = max(iv.round, last.get(iv.block, 0))
    blocks = [None if n.planned is None else schedule.intervals[n.planned].block for n in graph.nodes]
    return [
        (n.round_opens, last[block], block) if block is not None and n.round_opens else (0, 0, 0)
        for n, block in zip(graph.nodes, blocks, strict=True)
    ]


def _rounds(at: Candidates, events: Events, opened: Sequence[_Opened], w: Weights) -> dict[_Opened, Floats]:
    """Return what talk of rounds, and names told before them, say about each round starting at each candidate."""
    keys = [key for key in dict.fromkeys(opened) if key[0]]
    named = {block: explained(at, events.mentions, block) for block in {block for *_, block in keys}}
    return {
        (number, rounds, block): round_evidence(at, events.signals, number, rounds, w)
        + np.where(named[block], w.round_explained if number == 1 else -w.round_explained, 0.0)
        for number, rounds, block in keys
    }


@dataclass(frozen=True, slots=True, eq=False)
class _Named:
    """The part of names in a node's evidence."""

    start: Floats
    inside: Floats


def _names(
    schedule: Schedule, events: Events, at: Candidates, others: NamesHeard, w: Weights
) -> dict[MoveRef, NameEvidence]:
    """Return what names say about each planned move; moves that share all their mentions share it."""
    refs = {(iv.block, iv.move): None for iv in schedule.intervals}
    heard: dict[MoveRef, list[Mention]] = {ref: [] for ref in refs}
    for mention in events.mentions:
        for ref in mention.moves:
            if ref in heard:
                heard[ref].append(mention)
    made: dict[tuple[int, ...], NameEvidence] = {}
    named = {}
    for ref, mine in heard.items():
        key = tuple(id(m) for m in mine)
        if key not in made:
            made[key] = name_evidence(at, mine, ref, others, w)
        named[ref] = made[key]
    return named


@dataclass(frozen=True, slots=True)
class Priors:
    """The length priors in force for one pass."""

    work: LengthPrior = priors.WORK
    gap: LengthPrior = priors.GAP
    talk: LengthPrior = priors.TALK

    def looser(self) -> Priors:
        """Return priors that leave slips likely."""
        return Priors(self.work.looser(), self.gap.looser(), self.talk.looser())


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What weighs on a stretch between two candidates whatever it is: of ``at`` and the marks there; ``tilt`` (m,) what
    a path usually earns by then, nats."""

    at: Candidates
    marks: Marks
    tilt: Floats
    blur_s: float

    @staticmethod
    def of(at: Candidates, marks: Marks, schedule: Schedule, span_s: Span) -> Ground:
        """Return the ground of a class that begins and ends at ``span_s``."""
        steady = EARNED * len(schedule.intervals) / max(schedule.total_s, 1.0)
        # what is left of a word's uncertainty once uncertain edges are laid out is small: its mean square is enough
        blur_s = float(np.sqrt(2.0 * np.mean(np.square(at.u_s))))
        return Ground(at, marks, marks.tilt + (at.time_s - span_s[0]) * steady, blur_s)


@dataclass(frozen=True, eq=False)
class Length:
    """A planned length: how it is kept, ``band`` how many candidates it may reach, ``least_s`` the shortest it may be,
    None for a gap. Its weights stand in tables with steps of ``STEP_S``."""

    prior: LengthPrior
    plan_s: float
    blur_s: float
    band: int
    longest: int
    """The last step that is in reach of any candidate."""
    least_s: float | None

    @staticmethod
    def of(ground: Ground, plan_s: float, prior: LengthPrior, reach_s: float, least_s: float | None) -> Length:
        """Return a length as it is kept under a prior."""
        time_s = ground.at.time_s
        band = band_of(time_s, reach_s)
        farthest_s = time_s[np.minimum(np.arange(len(time_s)) + band - 1, len(time_s) - 1)] - time_s
        return Length(prior, plan_s, ground.blur_s, band, int(_rows(farthest_s).max()), least_s)

    def weights(self, rows: Ints) -> Floats:
        """Return the weights of lengths by their steps; beyond the last step in reach they are as there."""
        few = MANY_STEPS < self.longest > rows.size
        return self._made(rows) if few else self._table.take(rows, mode="clip")

    def log_weights(self, rows: Ints) -> Floats:
        """Return the same in nats, where they may be less than a number can hold."""
        few = MANY_STEPS < self.longest > rows.size
        return self._log_made(rows) if few else self._log_table.take(rows, mode="clip")

    @cached_property
    def _table(self) -> Floats:
        return self._made(np.arange(self.longest + 1))

    @cached_property
    def _log_table(self) -> Floats:
        return self._log_made(np.arange(self.longest + 1))

    def _made(self, rows: Ints) -> Floats:
        return self.prior.density(self._lengths_s(rows), self.plan_s, self.blur_s) * priors.BACKGROUND_S

    def _log_made(self, rows: Ints) -> Floats:
        return self.prior.log_density(self._lengths_s(rows), self.plan_s, self.blur_s) + LOG_BACKGROUND

    def _lengths_s(self, rows: Ints) -> Floats:
        return np.clip(rows, 0, self.longest).astype(np.float64) * STEP_S


def band_of(time_s: Floats, reach_s: float) -> int:
    """Return how many candidates a reach of ``reach_s`` spans at most (at least 2)."""
    far = np.searchsorted(time_s, time_s + reach_s, side="right") - np.arange(len(time_s))
    return max(2, int(far.max()))


def _rows(took_s: Floats) -> Ints:
    """Return the rows of a length's table, seconds to steps."""
    rows: Ints = (took_s * (1.0 / STEP_S) + 0.5).astype(np.int64)
    return rows


def _block(ground: Ground, length: Length, sources: Window, targets: Window) -> Floats:
    """Return the log weights of a length from some candidates to others, -inf where it cannot lie."""
    a, b = slice(*sources), slice(*targets)
    time_s, edge, lands, tilt = ground.at.time_s, ground.at.edge, ground.marks.lands, ground.tilt
    took = time_s[b] - time_s[a, None]
    step = np.arange(*targets) - np.arange(*sources)[:, None]
    ok = edge[b] > edge[a, None]
    if length.least_s is None:
        ok |= step == 0  # a gap may be nothing at all
        other = -np.where(took < ONE_CHANGE_S, np.minimum(lands[b], lands[a, None]), 0.0)
    else:
        ok &= took >= length.least_s
        other = ground.marks.pairs[np.arange(*sources)[:, None], np.clip(step, 0, length.band - 1)]
    ok &= (step >= 0) & (step < length.band)
    weight = length.log_weights(_rows(took)) + other + (tilt[a, None] - tilt[b])
    return np.where(ok, weight, NEG)


def _bands(ground: Ground, lengths: Sequence[Length]) -> list[Band]:
    """Return the weights of each length between all candidates, in linear scale."""
    at, lands, tilt = ground.at, ground.marks.lands, ground.tilt
    m, band = len(at), max(length.band for length in lengths)
    ahead = np.arange(m)[:, None] + np.arange(band)
    target = np.minimum(ahead, m - 1)
    took = at.time_s[target] - at.time_s[:, None]
    rows = _rows(took)
    slope = np.exp(tilt[:, None] - tilt[target])
    work = np.where((ahead < m) & (at.edge[target] > at.edge[:, None]), slope, 0.0)
    gap = work.copy()
    gap[:, 0] = 1.0  # a gap may be nothing at all
    close = min(band, band_of(at.time_s, ONE_CHANGE_S))
    twice = np.minimum(lands[target[:, :close]], lands[:, None])
    gap[:, :close] *= np.where(took[:, :close] < ONE_CHANGE_S, np.exp(-twice), 1.0)
    reach = min(band, ground.marks.pairs.shape[1])
    work[:, :reach] *= np.exp(ground.marks.pairs[:, :reach])
    made = []
    for length in lengths:
        push = length.weights(rows[:, : length.band])
        push *= (gap if length.least_s is None else work)[:, : length.band]
        if length.least_s is not None:
            push *= took[:, : length.band] >= length.least_s
        made.append(Band(push))
    return made


def sketch(graph: Graph, ground: Ground, schedule: Schedule, using: Priors, span_s: Span) -> Problem[Band]:
    """Return the problem of a first look, in which every node may lie anywhere."""
    work, gaps = _lengths(graph, ground, using)
    lengths = [*work.values(), *gaps.values()]
    bands = dict(zip(lengths, _bands(ground, lengths), strict=True))
    everywhere = ((0, len(ground.at)),) * len(graph.nodes)

    def through(length: Length, _sources: Window, _targets: Window) -> Band:
        return bands[length]

    return _problem(graph, ground, schedule, using, span_s, Windows(everywhere, everywhere), (work, gaps), through)


def focus(
    graph: Graph, ground: Ground, schedule: Schedule, using: Priors, span_s: Span, windows: Windows
) -> Problem[Blocks]:
    """Return the problem in which each node starts and ends within windows of its own."""

    def through(length: Length, sources: Window, targets: Window) -> Blocks:
        return Blocks(partial(_block, ground, length), length.band, sources, targets)

    return _problem(graph, ground, schedule, using, span_s, windows, _lengths(graph, ground, using), through)


_GapKey = tuple[float, bool, bool]
_Lengths = tuple[dict[float, Length], dict[_GapKey, Length]]


def _gap_key(arc: Arc) -> _GapKey:
    """Gaps that share a kernel; of a loose gap the plan says little, so all share one."""
    return (LOOSE_S, True, True) if arc.loose else (round(arc.gap_s * 2.0) / 2.0, arc.talk, False)


def _lengths(graph: Graph, ground: Ground, using: Priors) -> _Lengths:
    """Return the lengths of work in a graph, by the plan's, and those of gaps, by their kind."""
    work, gaps = {}, {}
    for plan_s in {round(n.length_s, 1) for n in graph.nodes}:
        least_s = max(MIN_WORK_S, MIN_WORK_SHARE * plan_s)
        work[plan_s] = Length.of(ground, plan_s, using.work, work_reach_s(plan_s), least_s)
    for key in {_gap_key(a) for a in graph.arcs if a.sources != (START,) and a.targets != (END,)}:
        gap_s, talk, loose = key
        prior = using.talk if talk else using.gap
        prior = prior.looser() if loose else prior
        gaps[key] = Length.of(ground, max(gap_s, JOIN_S), prior, gap_reach_s(gap_s, talk), None)
    return work, gaps


def _problem(
    graph: Graph,
    ground: Ground,
    schedule: Schedule,
    using: Priors,
    span_s: Span,
    windows: Windows,
    lengths: _Lengths,
    through: Callable[[Length, Window, Window], Through],
) -> Problem[Through]:
    """Return the decoding problem; ``through`` gives the kernel of a length from some candidates to others."""
    work, gaps = lengths
    time_s, ends = ground.at.time_s, using.talk.looser()
    openings = [node.opening_cost for node in graph.nodes]
    entries, exits = [], []
    between: dict[tuple[Length, tuple[int, ...], tuple[float, ...]], list[tuple[tuple[int, ...], float]]] = {}
    for arc in graph.arcs:
        charged = tuple([openings[k] if arc.opens else 0.0 for k in arc.targets])
        if arc.sources == (START,):
            entries += [(k, arc.cost + opening) for k, opening in zip(arc.targets, charged, strict=True)]
        elif arc.targets == (END,):
            exits += [(k, arc.cost) for k in arc.sources]
        else:
            between.setdefault((gaps[_gap_key(arc)], arc.targets, charged), []).append((arc.sources, arc.cost))
    ways = []
    for (length, targets, charged), arcs in between.items():
        reached = cover([windows.start[k] for k in targets])
        left = cover([windows.end[k] for sources, _ in arcs for k in sources])
        ways.append(Way(through(length, left, reached), tuple(arcs), tuple(zip(targets, charged, strict=True))))
    return Problem(
        start=ground.marks.start,
        end=ground.marks.end,
        work=[
            through(work[round(node.length_s, 1)], start, end)
            for node, start, end in zip(graph.nodes, windows.start, windows.end, strict=True)
        ],
        ways=ways,
        entries=entries,
        exits=exits,
        lead=ends.log_density(np.maximum(time_s - span_s[0], 0.0), schedule.lead_s) - ground.tilt,
        tail=ends.log_density(np.maximum(span_s[1] - time_s, 0.0), schedule.tail_s) + ground.tilt,
        time_s=time_s,
        start_window=windows.start,
        end_window=windows.end,
    )
