"""Sums and maxima through a kernel: what a length weighs, from the candidate where it begins to the one where it ends.

Two forms. A :class:`Band` holds the weights between all candidates, as far as the length may reach, and serves every
node of that length: for a first look, when a node may lie anywhere. :class:`Blocks` hold those between two windows of
candidates: for a second look, when each node has windows of its own, a dozen candidates wide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, Protocol

import numpy as np

from analyzer.model.transcript import Floats, Ints

NEG = -np.inf
WIDE = 64  # targets of a block; wider windows are cut into several blocks, which are not kept

Window = tuple[int, int]
"""Candidates, first to last + 1."""


class Span(NamedTuple):
    """Values in linear scale over the candidates from ``low`` on; ``level`` is the log of what one is worth."""

    low: int
    values: Floats
    level: float = 0.0

    @property
    def window(self) -> Window:
        """The candidates covered."""
        return self.low, self.low + len(self.values)

    def within(self, window: Window) -> Span:
        """Return the part that lies within a window."""
        first, last = max(self.low, window[0]), min(self.low + len(self.values), window[1])
        return Span(first, self.values[first - self.low : last - self.low], self.level) if first < last else NOTHING

    def less(self, cost: float) -> Span:
        """Return the same at a cost in nats."""
        return Span(self.low, self.values, self.level - cost)


NOTHING = Span(0, np.empty(0))


class Transfer(Protocol):
    """A kernel between the candidates of some nodes."""

    def forward(self, span: Span) -> Span:
        """Return, for each target in reach, the sum over its sources."""

    def back(self, span: Span, window: Window) -> Span:
        """Return, for each source of a window that is in reach, the sum over its targets."""


class Band:
    """Weights between all candidates: ``push[b, j]`` from b to b + j in linear scale, shape (m, band)."""

    def __init__(self, push: Floats) -> None:
        self.push = push
        self.size, self.band = push.shape

    @cached_property
    def pull(self) -> Floats:
        """The weights by rows of their target: [c, i] from c - band + 1 + i to c."""
        padded = np.zeros((self.size + self.band - 1, self.band))
        padded[self.band - 1 :] = self.push
        row, step = padded.strides
        view: Floats = np.ndarray(self.push.shape, padded.dtype, padded, (self.band - 1) * step, (row, row - step))
        return np.ascontiguousarray(view)

    def forward(self, span: Span) -> Span:
        """Return the sums at every target in reach."""
        low, high = span.window
        last = min(high + self.band - 1, self.size)
        return self._through(self.pull, span, low, last, low - self.band + 1) if low < high else NOTHING

    def back(self, span: Span, window: Window) -> Span:
        """Return the sums at the sources of a window that are in reach."""
        first, last = max(span.low - self.band + 1, window[0]), min(span.window[1], window[1])
        return self._through(self.push, span, first, last, first) if first < last else NOTHING

    def _through(self, weights: Floats, span: Span, first: int, last: int, read: int) -> Span:
        """Sum rows ``first`` to ``last`` - 1 of the weights with the values from candidate ``read``, one on a row."""
        low, values, level = span
        buffer = np.zeros(last - first + self.band - 1)
        a, b = max(low, read), min(low + len(values), read + len(buffer))
        buffer[a - read : b - read] = values[a - low : b - low]
        step = buffer.itemsize
        rows: Floats = np.ndarray((last - first, self.band), buffer.dtype, buffer, 0, (step, step))
        return Span(first, np.einsum("ij,ij->i", rows, weights[first:last]), level)


@dataclass(eq=False)
class _Block:
    """Log weights from some sources to some targets, shape (sources, targets)."""

    sources: Window
    targets: Window
    log: Floats

    @cached_property
    def linear(self) -> Floats:
        weights: Floats = np.exp(self.log)
        return weights


class Blocks:
    """Weights from a window of sources to one of targets, as full matrices.

    ``weigh`` gives the log weights from some sources to some targets, -inf where none leads; a source reaches the
    ``band`` candidates from itself on at most.
    """

    def __init__(self, weigh: Callable[[Window, Window], Floats], band: int, sources: Window, targets: Window) -> None:
        self.sources, self.targets = sources, targets
        self.weigh, self.band = weigh, band
        self._kept: list[_Block] | None = None

    def _blocks(self) -> Iterable[_Block]:
        """Return the blocks that lead anywhere: as a rule one, else made one by one for each pass."""
        if self.targets[1] - self.targets[0] > WIDE:
            return self._made()
        if self._kept is None:
            self._kept = list(self._made())
        return self._kept

    def _made(self) -> Iterator[_Block]:
        for first in range(*self.targets, WIDE):
            last = min(first + WIDE, self.targets[1])
            sources = max(self.sources[0], first - self.band + 1), min(self.sources[1], last)
            if sources[0] < sources[1]:
                yield _Block(sources, (first, last), self.weigh(sources, (first, last)))

    def forward(self, span: Span) -> Span:
        """Return the sums at every target of the window."""
        low, values, level = span
        total = np.zeros(self.targets[1] - self.targets[0])
        for block in self._blocks():
            first, last = max(low, block.sources[0]), min(low + len(values), block.sources[1])
            if first < last:
                rows = block.linear[first - block.sources[0] : last - block.sources[0]]
                total[_part(self.targets, block.targets)] = values[first - low : last - low] @ rows
        return Span(self.targets[0], total, level)

    def back(self, span: Span, window: Window) -> Span:
        """Return the sums at the sources of a window."""
        low, values, level = span
        total = np.zeros(window[1] - window[0])
        for block in self._blocks():
            first, last = max(low, block.targets[0]), min(low + len(values), block.targets[1])
            begin, end = max(window[0], block.sources[0]), min(window[1], block.sources[1])
            if first < last and begin < end:
                weights = block.linear[_part(block.sources, (begin, end)), _part(block.targets, (first, last))]
                total[begin - window[0] : end - window[0]] += weights @ values[first - low : last - low]
        return Span(window[0], total, level)

    def best(self, score: Floats) -> tuple[Floats, Ints]:
        """Return the best log score at each target, and its source; ``score`` is that of each source."""
        size = self.targets[1] - self.targets[0]
        best, source = np.full(size, NEG), np.full(size, self.sources[0])
        for block in self._blocks():
            rows = score[_part(self.sources, block.sources), None] + block.log
            here = _part(self.targets, block.targets)
            first = rows.argmax(axis=0)
            best[here] = rows[first, np.arange(len(first))]
            source[here] = first + block.sources[0]
        return best, source


def cover(windows: Iterable[Window]) -> Window:
    """Return the window that covers all of those that are not empty."""
    some = [window for window in windows if window[0] < window[1]]
    if len(some) < 2:
        return some[0] if some else (0, 0)
    firsts, lasts = zip(*some, strict=True)
    return min(firsts), max(lasts)


def _part(whole: Window, part: Window) -> slice:
    """Return where a part of a window lies in it."""
    return slice(part[0] - whole[0], part[1] - whole[0])
