"""Long fuzzing of every reader and of the whole audit by broken files, the same for a seed:

    python -m tests.fuzz.run --runs 100000 --seed 1

``tests.fuzz.guided`` does the same led by coverage. Prints one line a target. What breaks the program is kept under
``build/fuzz/TARGET/``; once mended, it belongs into ``tests/fuzz/regress/TARGET/``, which the suite replays.
"""

from __future__ import annotations

import argparse
import hashlib
import signal
import sys
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random
from types import FrameType

from tests.fuzz.mutate import mutated
from tests.fuzz.targets import TARGETS, Target, attempt

GROWN = 4000  # bytes up to which a broken file that still works is broken further

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "build" / "fuzz"
REGRESS = Path(__file__).resolve().parent / "regress"
PATIENCE_S = 5.0  # of processor time; an input of 60 kB that takes longer is a finding


class TooSlow(BaseException):
    """An input took longer than the patience allows; not to be caught by what catches any fault of a library."""


def inputs(name: str) -> list[bytes]:
    """Return the good files of a target and its regression inputs, in a fixed order."""
    found = sorted((REGRESS / name).glob("*")) if (REGRESS / name).is_dir() else []
    return [*TARGETS[name].seeds(), *(path.read_bytes() for path in found)]


def fuzz(name: str, runs: int, seed: int) -> Counter[str]:
    """Run a target on mutated files; return how many were used, refused, and each kind of finding."""
    target, rng, corpus = TARGETS[name], Random(f"{name} {seed}"), inputs(name)
    seen: Counter[str] = Counter()
    for _ in range(runs):
        data = mutated(rng.choice(corpus), rng, corpus)
        outcome = _timed(target, data)
        seen[outcome] += 1
        if outcome not in ("used", "refused") and seen[outcome] == 1:
            keep(name, data, outcome)
        elif outcome == "used" and len(data) < GROWN and len(corpus) < 400 and rng.random() < 0.02:
            corpus.append(data)  # breaks pile up on files that still work
    return seen


def keep(name: str, data: bytes, outcome: str) -> None:
    """Store an input that broke the program, named by its digest."""
    path = KEPT / name / hashlib.sha256(data).hexdigest()[:12]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    print(f"{name}: {outcome}\n  kept as {path.parent.name}/{path.name}", flush=True)


def _timed(target: Target, data: bytes) -> str:
    signal.setitimer(signal.ITIMER_VIRTUAL, PATIENCE_S)
    try:
        return "used" if attempt(target, data) else "refused"
    except (Exception, TooSlow) as fault:
        return kind_of(fault)
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


def kind_of(fault: BaseException) -> str:
    """Return what tells one finding from another: the fault's type, and the last line of ours that it came through."""
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [frame for frame in frames if "analyzer" in frame.filename] or frames
    place = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}"
    return (
        f"{type(fault).__name__} at {place}: {str(fault)[:90]!r}"
        if not isinstance(fault, TooSlow)
        else f"slow at {place}"
    )


def _ring(_: int, __: FrameType | None) -> None:
    raise TooSlow


def main() -> int:
    """Return 1 when anything broke."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=10_000, help="executions a target")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=sorted(TARGETS), help="one target instead of all")
    asked = parser.parse_args()
    signal.signal(signal.SIGVTALRM, _ring)
    broken = 0
    for name in [asked.only] if asked.only else TARGETS:
        began = time.perf_counter()
        seen = fuzz(name, asked.runs, asked.seed)
        used, refused = seen.pop("used", 0), seen.pop("refused", 0)
        broken += len(seen)
        rate = asked.runs / (time.perf_counter() - began)
        print(
            f"{name}: {asked.runs} runs, {used} used, {refused} refused, {len(seen)} kinds broken, {rate:.0f}/s",
            flush=True,
        )
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
