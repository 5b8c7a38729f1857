"""Puts candidates, evidence, priors and graph together into the problem that the dynamic programme solves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from analyzer.alignment import priors
from analyzer.alignment.candidates import Candidates
from analyzer.alignment.decode import Problem, Through, Way
from analyzer.alignment.evidence import (
    WEIGHTS,
    NameEvidence,
    NamesHeard,
    Weights,
    half_pairs,
    name_evidence,
    names_heard,
    shared_evidence,
    side_evidence,
)
from analyzer.alignment.graph import END, START, Arc, Graph, Node
from analyzer.alignment.kernels import Band, Blocks, Window, cover
from analyzer.alignment.lengths import Ground, Length, Marks, Span, band_of, bands, block, on_time
from analyzer.alignment.priors import LengthPrior
from analyzer.alignment.rounds import Turn, round_marks, turns_of
from analyzer.model.events import Events, Mention, MoveRef
from analyzer.model.plan import Schedule, Side
from analyzer.model.transcript import Floats, Transcript

MIN_WORK_S = 4.0
MIN_WORK_SHARE = 0.35  # less than a third of the plan is not that interval worked
# The weights of evidence are set one by one; together they come out too shy: of the slips given one chance in two, two
# in three were real (invented classes, 2026-11). This evens it.
EVIDENCE_SCALE = 1.25
LOOSE_S = 20.0  # usual gap where something was skipped or strayed
EARNED_COUNT = 5.5  # and from each count to a change
JOIN_S = 1.2  # a join without rest still takes a breath: the usual gap where the plan says none
_EXTRA_FADE = 0.7  # a name counts less for work that the plan does not have


@dataclass(frozen=True, slots=True)
class Windows:
    """The candidates, first to last + 1, that each node may start and end at."""

    start: tuple[Window, ...]
    end: tuple[Window, ...]

    def of_nodes(self, nodes: Sequence[int]) -> Windows:
        """Return the windows of some nodes."""
        return Windows(tuple(self.start[k] for k in nodes), tuple(self.end[k] for k in nodes))


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
    turns = turns_of(graph, schedule)
    opened, closed = round_marks(at, schedule, events, turns, w)
    rows: dict[tuple[int, Side | None, bool, tuple[Turn, Turn]], tuple[Floats, Floats]] = {}
    marked = []
    for node, turn in zip(graph.nodes, turns, strict=True):
        own = extra
        if node.planned is not None:
            iv = schedule.intervals[node.planned]
            name = named[(iv.block, iv.move)]
            own = _Named(name.again if node.second else name.start, name.inside)
        key = (id(own.start), node.side, node.second, turn)
        if key not in rows:
            inside = shared.inside + own.inside - shared.gap_inside
            start = shared.start + own.start + sides[(node.side, node.second)] - inside
            start = start + opened.get(turn[0], 0.0)
            end = shared.end + inside + closed.get(turn[1], 0.0)
            rows[key] = (EVIDENCE_SCALE * start, EVIDENCE_SCALE * end)
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


def sketch(graph: Graph, ground: Ground, schedule: Schedule, using: Priors, span_s: Span) -> Problem[Band]:
    """Return the problem of a first look, in which every node may lie anywhere."""
    work, gaps = _lengths(graph, ground, using)
    lengths = [*work.values(), *gaps.values()]
    made = dict(zip(lengths, bands(ground, lengths), strict=True))
    everywhere = ((0, len(ground.at)),) * len(graph.nodes)

    def through(length: Length, _sources: Window, _targets: Window, _due_s: float | None) -> Band:
        return made[length]

    return _problem(graph, ground, schedule, using, span_s, Windows(everywhere, everywhere), (work, gaps), through)


def focus(
    graph: Graph, ground: Ground, schedule: Schedule, using: Priors, span_s: Span, windows: Windows
) -> Problem[Blocks]:
    """Return the problem in which each node starts and ends within windows of its own."""

    def through(length: Length, sources: Window, targets: Window, due_s: float | None) -> Blocks:
        if due_s is not None:
            return Blocks(partial(on_time, ground, length, due_s), len(ground.at), sources, targets)
        return Blocks(partial(block, ground, length), length.band, sources, targets)

    return _problem(graph, ground, schedule, using, span_s, windows, _lengths(graph, ground, using), through)


_GapKey = tuple[float, bool, bool]
_WorkKey = tuple[float, bool]
_WayKey = tuple[Length, float | None, tuple[int, ...], tuple[float, ...]]
_Lengths = tuple[dict[_WorkKey, Length], dict[_GapKey, Length]]


def _gap_key(arc: Arc) -> _GapKey:
    """Gaps that share a kernel; of a loose gap the plan says little, so all share one."""
    return (LOOSE_S, True, True) if arc.loose else (round(arc.gap_s * 2.0) / 2.0, arc.talk, False)


def _work_key(node: Node) -> _WorkKey:
    """Work that shares a kernel: of one length, and kept or not."""
    return round(node.length_s, 1), node.due_s is not None


def _lengths(graph: Graph, ground: Ground, using: Priors) -> _Lengths:
    """Return the lengths of work in a graph, by the plan's, and those of gaps, by their kind."""
    work, gaps = {}, {}
    for plan_s, halted in {_work_key(n) for n in graph.nodes}:
        least_s = max(MIN_WORK_S, MIN_WORK_SHARE * plan_s)
        prior, usual_s = (priors.HALT, priors.HALT_SHARE * plan_s) if halted else (using.work, plan_s)
        work[plan_s, halted] = Length.of(ground, usual_s, prior, work_reach_s(plan_s), least_s)
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
    through: Callable[[Length, Window, Window, float | None], Through],
) -> Problem[Through]:
    """Return the decoding problem; ``through`` gives the kernel of a length from some candidates to others, of a gap
    after work that was due to end at a time (else None)."""
    work, gaps = lengths
    time_s, ends = ground.at.time_s, using.talk.looser()
    openings = [node.opening_cost for node in graph.nodes]
    entries, exits = [], []
    between: dict[_WayKey, list[tuple[tuple[int, ...], float]]] = {}
    for arc in graph.arcs:
        charged = tuple([openings[k] if arc.opens else 0.0 for k in arc.targets])
        if arc.sources == (START,):
            entries += [(k, arc.cost + opening) for k, opening in zip(arc.targets, charged, strict=True)]
        elif arc.targets == (END,):
            exits += [(k, arc.cost) for k in arc.sources]
        else:
            key = gaps[_gap_key(arc)], graph.nodes[arc.sources[0]].due_s, arc.targets, charged
            between.setdefault(key, []).append((arc.sources, arc.cost))
    ways = []
    for (length, due_s, targets, charged), arcs in between.items():
        reached = cover([windows.start[k] for k in targets])
        left = cover([windows.end[k] for sources, _ in arcs for k in sources])
        ways.append(Way(through(length, left, reached, due_s), tuple(arcs), tuple(zip(targets, charged, strict=True))))
    return Problem(
        start=ground.marks.start,
        end=ground.marks.end,
        work=[
            through(work[_work_key(node)], start, end, None)
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
