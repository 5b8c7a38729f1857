"""The class plan as the coach wrote it, and its schedule: one planned interval a move, round and side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BlockKind = Literal["talk", "warm-up", "main", "cool-down"]
Side = Literal["left", "right"]
SidePlan = Literal["both", "left", "right", "each", "alternating"]
Effort = Literal["easy", "moderate", "hard"]


@dataclass(frozen=True, slots=True)
class Move:
    """One move of a block. ``work_s`` is the whole of it: with side ``each`` half goes to each side."""

    name: str
    work_s: float
    also: tuple[str, ...] = ()
    rest_s: float = 0.0
    side: SidePlan = "both"
    effort: Effort = "moderate"
    easier: tuple[str, ...] = ()
    harder: tuple[str, ...] = ()
    cues: tuple[str, ...] = ()
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """One block. A talk block has a length and no moves; any other has moves and no length."""

    name: str
    kind: BlockKind
    length_s: float | None = None
    demo_s: float = 0.0
    rounds: int = 1
    rest_between_rounds_s: float = 0.0
    rest_after_s: float = 0.0
    quiet: bool = False
    moves: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole class as planned; ``drawn`` True where nobody planned it: it was drawn from the recording itself."""

    title: str
    blocks: tuple[Block, ...]
    coach: str = ""
    length_s: float | None = None
    equipment: tuple[str, ...] = ()
    name: str = ""
    sha256: str = ""
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class PlannedInterval:
    """One move, in one round, on one side.

    ``index`` place in the schedule; ``block`` and ``move`` index into ``plan.blocks`` and its ``moves``;
    ``round`` counts from 1; ``start_s`` on the plan's clock (zero = start of the class);
    ``work_s`` of this side alone; ``rest_s`` planned gap until the next interval's start or, for the last, the
    rest after it; ``demo_s`` the part of the gap BEFORE this interval that is a planned demo or talk;
    ``order_free`` True on both halves of an ``each`` move: which side comes first is not planned.
    """

    index: int
    block: int
    round: int
    move: int
    side: Side | None
    start_s: float
    work_s: float
    rest_s: float
    demo_s: float = 0.0
    order_free: bool = False

    @property
    def end_s(self) -> float:
        """Planned end on the plan's clock, seconds."""
        return self.start_s + self.work_s


@dataclass(frozen=True, slots=True)
class Schedule:
    """The run sheet: planned intervals in order, and the plan's total length."""

    intervals: tuple[PlannedInterval, ...]
    lead_s: float
    """Planned time before the first interval (welcome, demo)."""
    tail_s: float
    """Planned time after the last interval."""
    total_s: float
