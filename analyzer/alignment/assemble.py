"""Puts candidates, evidence, priors and graph together into the problem that the dynamic programme solves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.alignment import priors
from analyzer.alignment.candidates import Candidates
from analyzer.alignment.decode import NEG, Kernel, Problem, band_of
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
from analyzer.alignment.priors import LengthPrior
from analyzer.model.events import Events, Mention, MoveRef
from analyzer.model.plan import Schedule, Side
from analyzer.model.transcript import Bools, Floats, Ints, Transcript

MIN_WORK_S = 4.0
MIN_WORK_SHARE = 0.35  # less than a third of the plan is not that interval worked
STEP_S = 0.05
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

    start: tuple[tuple[int, int], ...]
    end: tuple[tuple[int, int], ...]


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
class Lags:
    """What lies between each candidate and the ones after it: arrays (m, band) over source and step.

    ``target`` index of the later candidate, ``took`` seconds between, ``row`` its row in a table with steps of
    ``STEP_S``, ``onward`` whether the later one exists and its edge comes later too; ``close``
    the steps that may lie within ``ONE_CHANGE_S``.
    """

    target: Ints
    took: Floats
    row: Ints
    onward: Bools
    close: int

    @staticmethod
    def of(at: Candidates, graph: Graph) -> Lags:
        """Return the lags as far as any interval or gap of the graph may reach."""
        m, band = len(at), band_of(at.time_s, max(_reaches(graph)))
        ahead = np.arange(m)[:, None] + np.arange(band)[None, :]
        target = np.minimum(ahead, m - 1)
        took = at.time_s[target] - at.time_s[:, None]
        onward = (ahead < m) & (at.edge[target] > at.edge[:, None])
        row = (took * (1.0 / STEP_S) + 0.5).astype(np.int64)
        return Lags(target, took, row, onward, band_of(at.time_s, ONE_CHANGE_S))


def _table(lags: Lags, band: int, prior: LengthPrior, plan_s: float, blur_s: float) -> Floats:
    """Return the weight of each lag as a length, read from a table with steps of ``STEP_S``."""
    longest = int(lags.row[:, band - 1].max())  # the farthest candidate is the last of its row
    grid: Floats = STEP_S * np.arange(longest + 1, dtype=np.float64)
    weight = prior.log_density(grid, plan_s, blur_s) + np.log(priors.BACKGROUND_S)
    return np.take(weight, lags.row[:, :band])


def _work_kernel(lags: Lags, band: int, length_s: float, prior: LengthPrior, blur_s: float, pairs: Floats) -> Kernel:
    ok = lags.onward[:, :band] & (lags.took[:, :band] >= max(MIN_WORK_S, MIN_WORK_SHARE * length_s))
    weight = _table(lags, band, prior, length_s, blur_s) + pairs[:, :band]
    return Kernel(np.where(ok, weight, NEG))


def _gap_kernel(lags: Lags, band: int, gap_s: float, prior: LengthPrior, blur_s: float, lands: Floats) -> Kernel:
    ok = lags.onward[:, :band].copy()
    ok[:, 0] = True  # a gap may be nothing at all
    weight = _table(lags, band, prior, max(gap_s, JOIN_S), blur_s)
    close = min(band, lags.close)
    twice = np.minimum(lands[lags.target[:, :close]], lands[:, None])
    weight[:, :close] -= np.where(lags.took[:, :close] < ONE_CHANGE_S, twice, 0.0)
    return Kernel(np.where(ok, weight, NEG))


def _gap_key(arc: Arc) -> tuple[float, bool, bool]:
    """Gaps that share a kernel; of a loose gap the plan says little, so all share one."""
    return (LOOSE_S, True, True) if arc.loose else (round(arc.gap_s * 2.0) / 2.0, arc.talk, False)


def _lengths(graph: Graph) -> list[float]:
    """Return the planned lengths of work in a graph, each once."""
    return sorted({round(n.length_s, 1) for n in graph.nodes})


def _gap_keys(graph: Graph) -> list[tuple[float, bool, bool]]:
    """Return the kinds of gaps in a graph, each once."""
    return sorted({_gap_key(a) for a in graph.arcs if a.source != START and a.target != END})


def _reaches(graph: Graph) -> list[float]:
    """Return how far work of each length and each kind of gap may reach, seconds."""
    return [work_reach_s(n) for n in _lengths(graph)] + [gap_reach_s(gap, talk) for gap, talk, _ in _gap_keys(graph)]


def assemble(
    at: Candidates,
    lags: Lags,
    graph: Graph,
    schedule: Schedule,
    marks: Marks,
    using: Priors,
    span_s: Span,
    windows: Windows | None = None,
) -> Problem:
    """Return the decoding problem under the given priors; ``lags`` are those of ``at`` and ``graph``.

    ``span_s`` start and end of the class, seconds.

    ``windows`` are the candidates that each node may start and end at; all of them when left out.
    """
    lengths, keys, reaches = _lengths(graph), _gap_keys(graph), _reaches(graph)
    # what is left of a word's uncertainty once uncertain edges are laid out is small: its mean square stands for all
    blur = float(np.sqrt(2.0 * np.mean(np.square(at.u_s))))
    bands = [band_of(at.time_s, reach) for reach in reaches]
    work = {
        length: _work_kernel(lags, band, length, using.work, blur, marks.pairs)
        for length, band in zip(lengths, bands, strict=False)
    }
    gaps = []
    for (gap, talk, loose), band in zip(keys, bands[len(lengths) :], strict=True):
        prior = using.talk if talk else using.gap
        gaps.append(_gap_kernel(lags, band, gap, prior.looser() if loose else prior, blur, marks.lands))
    number = {key: k for k, key in enumerate(keys)}
    ends = using.talk.looser()
    return Problem(
        start=marks.start,
        end=marks.end,
        work=tuple(work[round(n.length_s, 1)] for n in graph.nodes),
        gaps=tuple(gaps),
        lead=ends.log_density(np.maximum(at.time_s - span_s[0], 0.0), schedule.lead_s)[None, :],
        tail=ends.log_density(np.maximum(span_s[1] - at.time_s, 0.0), schedule.tail_s)[None, :],
        arcs=tuple(
            (a.source, a.target, 0 if a.source == START or a.target == END else number[_gap_key(a)], a.cost)
            for a in graph.arcs
        ),
        tilt=marks.tilt + (at.time_s - span_s[0]) * (EARNED * len(schedule.intervals) / max(schedule.total_s, 1.0)),
        time_s=at.time_s,
        start_window=windows.start if windows else ((0, len(at)),) * len(graph.nodes),
        end_window=windows.end if windows else ((0, len(at)),) * len(graph.nodes),
    )
