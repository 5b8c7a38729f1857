"""Places every planned interval on the recording: one global best path, with the posterior of each boundary.

A first look over everything under loose priors rules out most states and narrows the others. From the lengths it sees
the mixture weights of this recording are estimated, and the best path under them decides. Where the length of an
interval on that path and at first sight disagree, the plan, not the recording, may have decided, and the interval
says so (``length_doubtful``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyzer.alignment.assemble import Priors, Windows, focus, gather_marks, sketch, work_reach_s
from analyzer.alignment.candidates import Candidates, find_candidates
from analyzer.alignment.decode import Posterior, Step, best_path, posterior
from analyzer.alignment.evidence import WEIGHTS, Weights
from analyzer.alignment.graph import Graph, build_graph, heard_times
from analyzer.alignment.lengths import Ground, Marks
from analyzer.alignment.priors import GAP, WORK, reweigh
from analyzer.model.audit import Alignment, Interval
from analyzer.model.errors import MismatchError
from analyzer.model.events import Events, MoveRef
from analyzer.model.plan import Plan, PlannedInterval, Schedule
from analyzer.model.transcript import Floats, Transcript

MIN_FOUND_SHARE = 0.35  # under this the plan is another class's, or the transcript a small part of it
MAX_OUTER_SHARE = 0.3  # of the plan's work, missing before the first and after the last interval found
MIN_HEARD_SHARE = 0.2  # of the plan's moves, named anywhere at all
MIN_NAMED_SHARE = 0.4  # the right plan names three placed intervals in four or more, another class's one in four
# Where work begins or ends is a matter of judgement: to half a second where it is counted, else to a second and more.
# Measured on written and on generated classes.
COUNTED_U_S, JUDGEMENT_U_S = 0.45, 0.9
COUNTED_WITHIN_S = 0.8  # of where a count lands that is itself timed as well as this
# Whoever sets starts early sets ends early: in a length a part of that cancels out.
LENGTH_JUDGEMENT_U_S = 0.65
NEAR_S = 2.5  # posterior mass this close to the best boundary is the same boundary
SPREAD_S = 25.0  # mass within this reach counts into its uncertainty
RULED_OUT = 1e-3  # posterior of a node, under loose priors, below which it is left out
UNLIKELY = 5e-4  # the same for a node's start or end at one candidate
NEAR_ANCHOR_S = 6.0  # candidates this close to a likely one stay in play, those in the silence beside it too
# Pauses in a long paragraph are fewer and longer than their spread supposes, and one posterior shares their errors.
# Measured on invented and hand-written classes: U needs about 1.1 times its width at 20 s a stamp, 1.4 at a minute.
WIDE_STAMP_S, WIDENED_A_DOUBLING = 15.0, 0.2
SURE_END = 0.98  # an end so sure under loose priors was halted by nothing
DOUBT_S = 3.0  # lengths that move more than this under a looser prior were decided by the plan


@dataclass(frozen=True, slots=True)
class Glimpse:
    """Where loose priors alone would put an interval: the likeliest start and end, their blur, seconds; how sure of
    the end, 0 to 1."""

    start_s: float
    end_s: float
    blur_s: float
    sure: float


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """The decoded problem: its candidates and nodes, the best path, the posterior, what loose priors alone saw."""

    at: Candidates
    graph: Graph
    steps: tuple[Step, ...]
    chances: Posterior
    glimpsed: dict[int, Glimpse]

    def boundaries(self, planned: int) -> tuple[Floats, Floats]:
        """Return the posterior of a planned interval's start and end, all its copies pooled: (m,) each."""
        pool = [k for k, node in enumerate(self.graph.nodes) if node.planned == planned]
        start, end = (_pooled(spans, pool, len(self.at)) for spans in (self.chances.start, self.chances.end))
        return start, end


def align(transcript: Transcript, plan: Plan, schedule: Schedule, events: Events) -> Alignment:
    """Return where every planned interval was found.

    Raises
    ------
    MismatchError
        When so little of the plan is found that an audit against it would mean nothing.
    """
    _require_names(transcript, plan, events)
    alignment = place(transcript, plan, schedule, events)
    _require_fit(transcript, plan, schedule, events, alignment)
    return alignment


def place(transcript: Transcript, plan: Plan, schedule: Schedule, events: Events) -> Alignment:
    """Return the same of a plan that is known to belong to the recording, or is drawn from it.

    Raises
    ------
    MismatchError
        When plan or transcript is empty, or the plan cannot be laid on the recording at all.
    """
    found = search(transcript, plan, schedule, events)
    return _widened(_read(found, plan, schedule, events), transcript)


def search(
    transcript: Transcript, plan: Plan, schedule: Schedule, events: Events, weights: Weights = WEIGHTS
) -> Search:
    """Return the best path through the plan and the posterior around it; raises as :func:`place` does."""
    if not schedule.intervals or not len(transcript.words):
        raise MismatchError(plan.name, "", "the plan has no interval to look for", "a plan with at least one move")
    span_s = (transcript.class_start_s, transcript.duration_s)
    at = find_candidates(transcript, events)
    graph = build_graph(plan, schedule, heard_times(events.mentions))
    longest = work_reach_s(max(n.length_s for n in graph.nodes))
    marks = gather_marks(transcript, schedule, events, at, graph, longest, weights)
    anchors = at.anchors()
    few = at.only(anchors)
    ground = Ground.of(few, marks.at_candidates(anchors), schedule, span_s)
    wide = posterior(sketch(graph, ground, schedule, Priors().looser(), span_s), lengths=False)
    if not np.isfinite(wide.log_total):
        raise _mismatch(transcript, plan, "the plan fits nowhere on this recording")
    glimpsed = _glimpsed(few, graph, wide)
    graph, marks, windows = _focused(at, few, graph, marks, wide)
    if not graph.nodes:
        raise _mismatch(transcript, plan, "no interval of the plan is likely anywhere on this recording")
    if transcript.grain != "stamp":  # stamps do not tell a halt from a start that came late
        graph, was = graph.with_halts({k: seen.start_s for k, seen in glimpsed.items() if seen.sure < SURE_END})
        marks, windows = marks.of_nodes(was), windows.of_nodes(was)
    using = _adapted(glimpsed, schedule)
    problem = focus(graph, Ground.of(at, marks, schedule, span_s), schedule, using, span_s, windows)
    steps, _ = best_path(problem)
    if not steps:
        raise _mismatch(transcript, plan, "the plan fits nowhere on this recording")
    return Search(at, graph, steps, posterior(problem), glimpsed)


def _widened(alignment: Alignment, transcript: Transcript) -> Alignment:
    """Return it with every uncertainty widened by what a coarse stamp adds; as it was for all other transcripts."""
    starts_s = np.asarray([caption.start_ms for caption in transcript.captions]) / 1000.0
    if transcript.grain != "stamp" or len(starts_s) < 2:
        return alignment
    wide = float(np.median(np.diff(starts_s))) / WIDE_STAMP_S
    if wide <= 1.0:
        return alignment
    factor = 1.0 + WIDENED_A_DOUBLING * float(np.log2(wide))

    def widen(u: float | None) -> float | None:
        return None if u is None else factor * u

    intervals = tuple(
        replace(iv, start_u=widen(iv.start_u), end_u=widen(iv.end_u), length_u=widen(iv.length_u))
        for iv in alignment.intervals
    )
    return replace(alignment, intervals=intervals)


def _require_fit(transcript: Transcript, plan: Plan, schedule: Schedule, events: Events, alignment: Alignment) -> None:
    """Refuse an alignment that covers a part of the plan only, or rests on another class's names."""
    named = _named_share(alignment, schedule, events)
    if named < MIN_NAMED_SHARE:
        found = f"only {named:.0%} of what was worked is called by the plan's names where the plan has it"
        raise _mismatch(transcript, plan, found)
    there = [iv.planned for iv in alignment.intervals if iv.planned is not None and iv.status == "worked"]
    total = sum(p.work_s for p in schedule.intervals)
    outer = [p for p in schedule.intervals if there and not min(there) <= p.index <= max(there)]
    one_round = len({(p.block, p.round) for p in outer}) <= 1  # a round may be lost; more is a part of a recording
    enough = alignment.found_share >= MIN_FOUND_SHARE
    if enough and (one_round or sum(p.work_s for p in outer) < MAX_OUTER_SHARE * total):
        return
    found = f"only {alignment.found_share:.0%} of the plan's work was found in the recording"
    if there:
        first, last = (schedule.intervals[k] for k in (min(there), max(there)))
        found += f", from {_name(plan, first)} to {_name(plan, last)}"
    raise _mismatch(transcript, plan, found)


def _name(plan: Plan, planned: PlannedInterval) -> str:
    """Return how a message calls a planned interval."""
    block = plan.blocks[planned.block]
    return f"{block.moves[planned.move].name} ({block.name}, round {planned.round})"


def _named_share(alignment: Alignment, schedule: Schedule, events: Events) -> float:
    """Return the share of placed intervals whose move is named shortly before them or in their first part."""
    heard: dict[MoveRef, list[float]] = {}
    for mention in events.mentions:
        if mention.score >= 0.6:
            for ref in mention.moves:
                heard.setdefault(ref, []).append(mention.at_s)
    named = []
    for iv in alignment.intervals:
        if iv.planned is None or iv.start_s is None or iv.end_s is None:
            continue
        ref = (schedule.intervals[iv.planned].block, schedule.intervals[iv.planned].move)
        until = iv.start_s + 0.6 * (iv.end_s - iv.start_s)
        named.append(any(iv.start_s - 25.0 <= at <= until for at in heard.get(ref, [])))
    return sum(named) / len(named) if named else 0.0


def _mismatch(transcript: Transcript, plan: Plan, found: str) -> MismatchError:
    return MismatchError(
        transcript.name,
        f"against {plan.name}",
        found,
        "is this the plan of another class, or the transcript of a part only? Give the pair that belongs together",
    )


def _require_names(transcript: Transcript, plan: Plan, events: Events) -> None:
    """Refuse a plan whose moves are hardly ever named in the recording."""
    moves = {m.name.casefold(): (b, k) for b, block in enumerate(plan.blocks) for k, m in enumerate(block.moves)}
    heard = {ref for m in events.mentions if m.score >= 0.75 for ref in m.moves}
    names = {name for name, ref in moves.items() if ref in heard}
    if len(moves) >= 3 and len(names) < MIN_HEARD_SHARE * len(moves):
        found = f"only {len(names)} of the plan's {len(moves)} moves are named in the recording"
        raise _mismatch(transcript, plan, found)


def _focused(
    at: Candidates, few: Candidates, graph: Graph, marks: Marks, wide: Posterior
) -> tuple[Graph, Marks, Windows]:
    """Leave out the nodes that even loose priors all but rule out, and narrow where the others may start and end.

    ``wide`` is the posterior over the ``few`` candidates alone; what is near a likely one of them stays.
    """
    keep = [k for k, (_, values) in enumerate(wide.start) if values.sum() >= RULED_OUT]
    reach = NEAR_ANCHOR_S + float(np.median(at.u_s))
    windows = Windows(*(tuple(_window(at, few, spans[k], reach) for k in keep) for spans in (wide.start, wide.end)))
    passed: dict[int | None, float] = {}
    for k in keep:
        planned = graph.nodes[k].planned
        passed[planned] = passed.get(planned, 0.0) + float(wide.start[k][1].sum())
    certain = {p for p, mass in passed.items() if p is not None and mass > 1.0 - RULED_OUT}
    return graph.only(keep).without_skips_over(certain), marks.of_nodes(keep), windows


def _window(at: Candidates, few: Candidates, chance: tuple[int, Floats], reach_s: float) -> tuple[int, int]:
    """Return the candidates from the first to the last that is near a likely one of the ``few``."""
    low, values = chance
    likely = np.flatnonzero(values >= UNLIKELY)
    if not len(likely):
        return 0, 0
    first, last = few.time_s[low + likely[0]] - reach_s, few.time_s[low + likely[-1]] + reach_s
    return int(np.searchsorted(at.time_s, first)), int(np.searchsorted(at.time_s, last, side="right"))


def _glimpsed(few: Candidates, graph: Graph, wide: Posterior) -> dict[int, Glimpse]:
    """Return the glimpse of each planned interval that was likely worked, by schedule index."""
    copies: dict[int, list[int]] = {}
    for k, node in enumerate(graph.nodes):
        if node.planned is not None and wide.start[k][1].sum() >= RULED_OUT:
            copies.setdefault(node.planned, []).append(k)
    found = {}
    for planned, nodes in copies.items():
        start, end = (_pooled(spans, nodes, len(few)) for spans in (wide.start, wide.end))
        b, c = int(start.argmax()), int(end.argmax())
        if start.sum() >= 0.5 and b < c:
            blur = float(np.hypot(few.u_s[b], few.u_s[c]))
            near = np.abs(few.time_s - few.time_s[c]) <= NEAR_S
            sure = float(end[near].sum() / end.sum())
            found[planned] = Glimpse(float(few.time_s[b]), float(few.time_s[c]), blur, sure)
    return found


def _adapted(glimpsed: dict[int, Glimpse], schedule: Schedule) -> Priors:
    """Return priors with the mixture weights of this recording."""
    planned = schedule.intervals
    work = [(g.end_s - g.start_s, planned[k].work_s, g.blur_s) for k, g in glimpsed.items()]
    gaps = [
        (glimpsed[k + 1].start_s - g.end_s, planned[k].rest_s, float(np.hypot(g.blur_s, glimpsed[k + 1].blur_s)))
        for k, g in glimpsed.items()
        if k + 1 in glimpsed and planned[k + 1].demo_s == 0 and glimpsed[k + 1].start_s >= g.end_s
    ]
    return Priors(
        work=reweigh(WORK, *np.array(work).reshape(-1, 3).T),
        gap=reweigh(GAP, *np.array(gaps).reshape(-1, 3).T),
    )


def _pooled(spans: tuple[tuple[int, Floats], ...], nodes: list[int], m: int) -> Floats:
    """Add up the posteriors of the copies of one planned interval, shape (m,)."""
    total = np.zeros(m)
    for k in nodes:
        low, values = spans[k]
        total[low : low + len(values)] += values
    return total


def _lands(events: Events) -> Floats:
    """Return where the counts that are well timed land, seconds."""
    return np.array([c.lands_s for c in events.counts if c.role == "seconds" and c.u_s <= COUNTED_WITHIN_S])


def _locate(at: Candidates, best: int, chance: Floats, lands_s: Floats) -> tuple[float, float]:
    """Return a boundary's time and standard uncertainty from its posterior around the best path's candidate."""
    best_s = float(at.time_s[best])
    around = at.between(best_s - SPREAD_S - 1.0, best_s + SPREAD_S + 1.0)
    t, chance = at.time_s[around], chance[around]
    near = (np.abs(t - best_s) <= NEAR_S) & (chance > 0)
    mass = float(chance[near].sum())
    # from the best one on: where it stands alone the time is its very own, as that of a start there is
    time = best_s + float(((t[near] - best_s) * chance[near]).sum() / mass) if mass > 0 else best_s
    wide = np.abs(t - best_s) <= SPREAD_S
    weight = chance[wide]
    total = float(weight.sum())
    spread = float((np.square(t[wide] - time) * weight).sum() / total) if total > 0 else 0.0
    own = float(at.u_s[best])
    counted = bool((np.abs(lands_s - time) <= COUNTED_WITHIN_S).any())
    return time, float(np.sqrt(spread + own * own + (COUNTED_U_S if counted else JUDGEMENT_U_S) ** 2))


def _confidence(at: Candidates, start: Floats, end: Floats, start_s: float, end_s: float) -> float:
    """Return the probability that the interval was worked where it is placed, give or take half its length."""
    reach = 0.5 * max(end_s - start_s, 1.0)
    near = (start[np.abs(at.time_s - start_s) <= reach].sum(), end[np.abs(at.time_s - end_s) <= reach].sum())
    return float(min(1.0, *near))


def _length_u(chances: Posterior, pool: list[int], length_s: float, at: Candidates, step: Step) -> float:
    """Return the standard uncertainty of a length from the joint posterior of its start and end."""
    mass, once, twice = chances.length[pool].sum(axis=0)
    spread = max(0.0, twice / mass - 2.0 * length_s * once / mass + length_s**2) if mass > 0 else 0.0
    times = at.u_s[step.start] ** 2 + at.u_s[step.end] ** 2
    return float(np.sqrt(spread + times + LENGTH_JUDGEMENT_U_S**2))


def _read(solved: Search, plan: Plan, schedule: Schedule, events: Events) -> Alignment:
    """Turn the best path and the posteriors into intervals."""
    m, chances, glimpsed, lands_s = len(solved.at), solved.chances, solved.glimpsed, _lands(events)
    copies: dict[int | None, list[int]] = {}
    for k, node in enumerate(solved.graph.nodes):
        copies.setdefault(node.planned, []).append(k)
    placed: list[Interval] = []
    for n, step in enumerate(solved.steps):
        node = solved.graph.nodes[step.node]
        pool = copies[node.planned] if node.planned is not None else [step.node]
        start = _pooled(chances.start, pool, m)
        end = _pooled(chances.end, pool, m)
        start_s, start_u = _locate(solved.at, step.start, start, lands_s)
        end_s, end_u = _locate(solved.at, step.end, end, lands_s)
        loose = glimpsed.get(node.planned) if node.planned is not None else None
        doubtful = loose is not None and abs((loose.end_s - loose.start_s) - (end_s - start_s)) > DOUBT_S
        made = _interval(plan, schedule, events, node.planned, n, solved, step)
        placed.append(
            replace(
                made,
                start_s=start_s,
                end_s=max(end_s, start_s + 0.5),
                start_u=start_u,
                end_u=end_u,
                confidence=_confidence(solved.at, start, end, start_s, end_s),
                length_u=_length_u(chances, pool, end_s - start_s, solved.at, step),
                length_doubtful=doubtful,
            )
        )
    return _complete(solved, placed, plan, schedule, copies)


def _interval(
    plan: Plan, schedule: Schedule, events: Events, planned: int | None, n: int, solved: Search, step: Step
) -> Interval:
    if planned is not None:
        iv = schedule.intervals[planned]
        block = plan.blocks[iv.block]
        name = block.moves[iv.move].name
        return Interval(f"i{planned + 1:03d}", planned, block.name, iv.round, name, iv.side, "worked")
    begin, finish = float(solved.at.time_s[step.start]), float(solved.at.time_s[step.end])
    before = [solved.graph.nodes[s.node].planned for s in solved.steps[:n]]
    last = next((p for p in reversed(before) if p is not None), 0)
    iv = schedule.intervals[last]
    heard = [e for e in events.mentions if begin - 10.0 <= e.at_s <= begin + 0.5 * (finish - begin)]
    best = max(heard, key=lambda e: e.score, default=None)
    named = "unplanned"
    if best is not None:
        ref = next((r for r in best.moves if r[0] == iv.block), best.moves[0])
        named = plan.blocks[ref[0]].moves[ref[1]].name
    return Interval(f"x{n + 1:03d}", None, plan.blocks[iv.block].name, iv.round, named, None, "extra")


def _complete(
    solved: Search,
    placed: list[Interval],
    plan: Plan,
    schedule: Schedule,
    copies: dict[int | None, list[int]],
) -> Alignment:
    """Add the missing intervals and what follows from them."""
    there = {iv.planned for iv in placed}
    missing: list[Interval] = []
    for p in schedule.intervals:
        if p.index in there:
            continue
        block = plan.blocks[p.block]
        worked = sum(float(solved.chances.start[k][1].sum()) for k in copies.get(p.index, []))
        missing.append(
            Interval(
                f"i{p.index + 1:03d}",
                p.index,
                block.name,
                p.round,
                block.moves[p.move].name,
                p.side,
                "missing",
                confidence=float(np.clip(1.0 - worked, 0.0, 1.0)),
            )
        )
    rounds: dict[tuple[int, int], list[bool]] = {}
    for p in schedule.intervals:
        rounds.setdefault((p.block, p.round), []).append(p.index in there)
    lost = tuple((plan.blocks[b].name, r) for (b, r), seen in rounds.items() if not any(seen))
    strayed = tuple(
        iv.id
        for iv, step in zip(placed, solved.steps, strict=True)
        if solved.graph.nodes[step.node].copy.startswith(("swap", "blocks"))
    )
    total = sum(p.work_s for p in schedule.intervals)
    found = sum(
        schedule.intervals[iv.planned].work_s for iv in placed if iv.planned is not None and iv.confidence >= 0.5
    )
    return Alignment(_in_order(placed, missing), lost, strayed, found / total if total else 0.0)


def _in_order(placed: list[Interval], missing: list[Interval]) -> tuple[Interval, ...]:
    """Put each missing interval after the last worked one that is planned before it."""
    out = list(placed)
    for iv in missing:
        index = iv.planned if iv.planned is not None else 0
        earlier = [k for k, other in enumerate(out) if other.planned is not None and other.planned < index]
        out.insert(earlier[-1] + 1 if earlier else 0, iv)
    return tuple(out)
