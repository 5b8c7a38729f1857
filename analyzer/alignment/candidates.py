"""Where a boundary may lie: edges of the text and points in long silences, each at its possible times.

Conventions: candidates are sorted by time; ``edge`` keeps the order of the words, so two candidates may only follow
each other when both their times and their edges do. An edge whose time is uncertain is laid out at several times,
each with the log probability of that time.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from analyzer.model.events import Events
from analyzer.model.transcript import Bools, Floats, Ints, Transcript, Words

LEAD_S = 0.15  # work begins a breath before the first word that goes with it
TRAIL_S = 0.7  # and ends a breath after the last one
SILENCE_S = 2.5  # silences longer than this get points of their own
SILENCE_STEP_S = 2.0
BIN_S = 1.5  # step at which an uncertain edge is laid out
MAX_BINS = 7


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """Possible boundaries, arrays of length m sorted by ``time_s``.

    ``u_s`` standard uncertainty that is left at each (word time within its bin); ``edge`` rank of the text edge;
    ``word`` index of the first word at or after the edge (n words at the very end); ``log_p`` log probability of
    this time given its edge; ``trail`` True just after a sentence whose next one is some way off, ``silent`` True
    further inside a silence: neither is where something is said to begin.
    """

    time_s: Floats
    u_s: Floats
    edge: Ints
    word: Ints
    log_p: Floats
    trail: Bools
    silent: Bools

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, from_s: float, to_s: float) -> slice:
        """Return the candidates from one time up to, not with, another, seconds."""
        low, high = self.time_s.searchsorted((from_s, to_s)).tolist()
        return slice(low, high)

    def anchors(self) -> Ints:
        """Return the likeliest time of each edge where something is said: enough for a first look."""
        order = np.lexsort((-self.log_p, self.edge))
        first = np.append(True, np.diff(self.edge[order]) != 0)
        best = order[first]
        spoken = best[~(self.trail[best] | self.silent[best])]
        return np.sort(spoken if len(spoken) > 1 else best)

    def only(self, keep: Ints) -> Candidates:
        """Return some of the candidates, given as an ascending index array."""
        return Candidates(*(getattr(self, field.name)[keep] for field in fields(self)))


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    time_s: Floats
    u_s: Floats
    word: Ints
    trail: Bools
    silent: Bools
    low_s: Floats
    high_s: Floats


def find_candidates(transcript: Transcript, events: Events) -> Candidates:
    """Return every possible boundary of the recording, at least one."""
    return _lay_out(_edges(transcript, events))


def _opens(words: Words, events: Events, grain: str) -> Bools:
    """Words that may open something: sentence starts, the word after a count, words after a real pause."""
    opens = words.opens.copy()
    opens[0] = True
    if grain == "word":
        opens |= words.pause_s >= 0.28  # a pause a listener hears as a break; recognisers leave out full stops
    elif grain == "cue":
        opens |= words.pause_s >= 0.8
    for signal in events.signals:
        if signal.kind in ("start", "stop", "switch", "relief") and signal.strength >= 0.5:
            opens[signal.first] = True
    for count in events.counts:
        opens[count.positions[0]] = True
        if count.last + 1 < len(opens):
            opens[count.last + 1] = True
    return opens


def _edges(transcript: Transcript, events: Events) -> _Edges:
    """Lay one edge before every opening word, one after the sentence before it, and some inside silences."""
    words = transcript.words
    heads = np.flatnonzero(_opens(words, events, transcript.grain))
    onset, u = words.start_s[heads], words.u_s[heads]
    before = np.where(heads > 0, words.end_s[np.maximum(heads - 1, 0)], np.minimum(transcript.class_start_s, onset))
    gap = np.maximum(onset - before, 0.0)
    lead = np.minimum(LEAD_S, gap)
    rows = [_row(onset - lead, u, heads)]
    if transcript.grain == "stamp":
        gap = np.zeros(len(heads))  # where a paragraph's silences lie is not known
    wide = gap > LEAD_S + TRAIL_S + 0.3
    rows.append(_row(before[wide] + TRAIL_S, u[wide], heads[wide], trail=True))
    for k in range(1, 30):
        at = before + TRAIL_S + k * SILENCE_STEP_S
        here = (gap > SILENCE_S) & (at < onset - 1.0)
        if not here.any():
            break
        rows.append(_row(at[here], u[here], heads[here], silent=True))
    ends = [c for c in events.counts if c.role == "seconds"]
    lands = np.array([c.lands_s for c in ends], float)
    after = np.array([c.last + 1 for c in ends], int)
    rows.append(_row(lands, words.u_s[after - 1], after))
    rows.append(_row(words.end_s[-1:] + TRAIL_S, words.u_s[-1:], np.array([len(words)]), trail=True))
    time, u_all, word, trail, silent = (np.concatenate(parts) for parts in zip(*rows, strict=True))
    order = np.lexsort((time, word))
    time, u_all, word, trail, silent = time[order], u_all[order], word[order], trail[order], silent[order]
    clipped = np.minimum(word, len(words) - 1)
    low = words.earliest_s[clipped] - (words.start_s[clipped] - time).clip(0)
    high = np.maximum(words.latest_s[clipped], time)
    keep = np.ones(len(time), bool)
    keep[1:] = (np.diff(time) > 0.2) | (np.diff(word) != 0) & (u_all[1:] > 0.5)
    return _Edges(time[keep], u_all[keep], word[keep], trail[keep], silent[keep], low[keep], high[keep])


def _row(
    time_s: Floats, u_s: Floats, word: Ints, trail: bool = False, silent: bool = False
) -> tuple[Floats, Floats, Ints, Bools, Bools]:
    """Return edges of one kind as columns."""
    n = len(time_s)
    return time_s, u_s, word, np.full(n, trail), np.full(n, silent)


def _lay_out(edges: _Edges) -> Candidates:
    """Spread each uncertain edge over its possible times (normal in u, cut at the hard bounds)."""
    n = len(edges.time_s)
    half = np.clip(np.floor(1.6 * edges.u_s / BIN_S + 0.35), 0, MAX_BINS // 2).astype(int)
    rank = np.arange(n)
    parts = []
    for k in range(-(MAX_BINS // 2), MAX_BINS // 2 + 1):
        use = half >= abs(k)
        at = edges.time_s + k * BIN_S
        use &= (at >= edges.low_s) & (at <= edges.high_s) | (k == 0)
        z = np.where(edges.u_s > 0, k * BIN_S / np.maximum(edges.u_s, 1e-6), 0.0)
        parts.append((at[use], rank[use], -0.5 * np.square(z[use])))
    time, edge, weight = (np.concatenate(p) for p in zip(*parts, strict=True))
    total = np.zeros(n)
    np.add.at(total, edge, np.exp(weight))
    log_p = weight - np.log(total[edge])
    left = np.where(half[edge] > 0, np.minimum(edges.u_s[edge], BIN_S / np.sqrt(12.0)), edges.u_s[edge])
    order = np.lexsort((edge, time))
    return Candidates(
        time_s=np.maximum(time[order], 0.0),
        u_s=left[order],
        edge=edge[order].astype(np.int64),
        word=edges.word[edge[order]].astype(np.int64),
        log_p=log_p[order],
        trail=edges.trail[edge[order]],
        silent=edges.silent[edge[order]],
    )
