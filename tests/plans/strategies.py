"""Whole plans of any content a file can hold, for round trips."""

from __future__ import annotations

from hypothesis import strategies as st

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans.fields import fold

_CHARS = st.one_of(
    st.characters(exclude_categories=("Cc", "Cs"), exclude_characters="\ufffe\uffff"),
    st.sampled_from(list("""abc xyz'";:,#&*-=+@|>!%?[]{}~_0123.5é""")),
)
TEXT = st.text(_CHARS, min_size=1, max_size=20).map(lambda text: " ".join(text.split())).filter(bool)
WORDS = st.one_of(TEXT, st.sampled_from(["no", "null", "~", "1:30", "45", "=1+1", "'=1", "''", "a; b", '"a"', "# a"]))
TEXTS = st.lists(WORDS, max_size=3).map(tuple)
PART_S = st.integers(0, 4 * 3600 * 1000).map(lambda ms: ms / 1000)
WORK_S = st.integers(1000, 4 * 3600 * 1000).map(lambda ms: ms / 1000)


MOVES = st.builds(
    Move,
    name=WORDS,
    work_s=WORK_S,
    also=TEXTS,
    rest_s=PART_S,
    side=st.sampled_from(["both", "left", "right", "each", "alternating"]),
    effort=st.sampled_from(["easy", "moderate", "hard"]),
    easier=TEXTS,
    harder=TEXTS,
    cues=TEXTS,
    quiet=st.booleans(),
)
TALKS = st.builds(
    Block,
    name=WORDS,
    kind=st.just("talk"),
    length_s=WORK_S,
    rest_after_s=PART_S,
    quiet=st.booleans(),
    moves=st.just(()),
)
WORKED = st.builds(
    Block,
    name=WORDS,
    kind=st.sampled_from(["warm-up", "main", "cool-down"]),
    demo_s=PART_S,
    rounds=st.integers(1, 50),
    rest_between_rounds_s=PART_S,
    rest_after_s=PART_S,
    quiet=st.booleans(),
    moves=st.lists(MOVES, min_size=1, max_size=3, unique_by=lambda move: fold(move.name)).map(tuple),
)
PLANS = st.builds(
    Plan,
    title=WORDS,
    coach=st.one_of(st.just(""), WORDS),
    length_s=st.one_of(st.none(), st.integers(1000, 24 * 3600 * 1000).map(lambda ms: ms / 1000)),
    equipment=TEXTS,
    blocks=st.lists(st.one_of(TALKS, WORKED), min_size=1, max_size=3, unique_by=lambda block: fold(block.name))
    .map(tuple)
    .filter(lambda blocks: any(block.moves for block in blocks)),
)
"""Plans that a file can hold: texts of one line, no text empty, names that differ, durations in whole milliseconds."""
