"""Fit the weights of the evidence on classes whose truth is known; print them, and how well the truth is found.

    python tests/tools/fit_evidence.py FOLDER... [--only NAME ...] [--steps 8] [--forms heard.vtt words.json]
    python tests/tools/fit_evidence.py FOLDER... --steps 0 [--set NAME=VALUE ...]     # measure only

A folder holds case folders (``python -m tests.written.cases``, ``generated.py --keep``). What is raised is the mean log
of the posterior probability near each true boundary, less a penalty for leaving the weights as they were set by hand:
a weight that the classes say little of stays where it was. The cases of ``tests/written/heldout`` only measure.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.alignment.align import search  # noqa: E402
from analyzer.alignment.evidence import WEIGHTS, Weights  # noqa: E402
from analyzer.language import load_language, speaking  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from analyzer.model.events import Events  # noqa: E402
from analyzer.model.plan import Plan, Schedule  # noqa: E402
from analyzer.model.transcript import Transcript  # noqa: E402
from analyzer.plans import make_schedule, read_plan  # noqa: E402
from analyzer.spotting import spot  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402

AT_S, NEAR_S = 1.0, 3.0
"""A boundary this close is right; it counts less up to so far."""
LEAST = 0.03
"""Probability that even a boundary missed counts for: one miss is not to outweigh all else."""
STIFF = 0.004
"""Penalty a case boundary for a weight moved by its own size (or by a nat, for small ones)."""
STEP = 0.25


@dataclass(frozen=True)
class Case:
    """One recording with its events, and the true boundaries of its planned intervals (start, end, seconds)."""

    name: str
    transcript: Transcript
    plan: Plan
    schedule: Schedule
    events: Events
    true: dict[int, tuple[float, float]]


def read_case(folder: Path, form: str) -> Case:
    """Read and spot one case; a case does not change with the weights."""
    with speaking("en"):
        plan, transcript = read_plan(folder / "plan.yaml"), read_transcript(folder / form)
        schedule = make_schedule(plan)
        events = spot(transcript, plan, load_language("en"))
    known = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    at = {}
    for iv in schedule.intervals:
        block = plan.blocks[iv.block]
        at[(block.name.lower(), iv.round, block.moves[iv.move].name.lower(), iv.side)] = iv.index
    true = {}
    for iv in known["intervals"]:
        key = (iv["block"].lower(), iv["round"], iv["move"].lower(), iv.get("side"))
        index = at.get(key, at.get((*key[:3], None)))
        if index is not None:
            true[index] = (float(iv["start"]), float(iv["end"]))
    return Case(f"{folder.name}/{form}", transcript, plan, schedule, events, true)


_CASES: list[Case] = []


def load(jobs: Sequence[tuple[Path, str]]) -> None:
    """Read the cases of a worker."""
    _CASES.extend(read_case(*job) for job in jobs)


def worth(weights: Weights, number: int) -> tuple[float, int, float]:
    """Return the summed log probability near the truth of one case, how many boundaries, how many are found."""
    case = _CASES[number]
    with speaking("en"):
        try:
            found = search(case.transcript, case.plan, case.schedule, case.events, weights)
        except AnalyzerError:
            return 2 * len(case.true) * float(np.log(LEAST)), 2 * len(case.true), 0.0
    total, right, times = 0.0, 0.0, found.at.time_s
    for index, boundaries in case.true.items():
        for chance, true_s in zip(found.boundaries(index), boundaries, strict=True):
            near = np.clip((NEAR_S - np.abs(times - true_s)) / (NEAR_S - AT_S), 0.0, 1.0)
            mass = min(1.0, float((chance * near).sum()))
            total += float(np.log(LEAST + (1 - LEAST) * mass))
            right += mass
    return total, 2 * len(case.true), right


class Judge:
    """Measures weights on all cases, in as many processes as asked."""

    def __init__(self, jobs: Sequence[tuple[Path, str]], workers: int) -> None:
        self.count = len(jobs)
        self.pool = ProcessPoolExecutor(workers, initializer=load, initargs=(jobs,))

    def __call__(self, weights: Weights) -> tuple[float, float]:
        """Return the mean log probability near a true boundary, and the mean probability."""
        rows = np.array(list(self.pool.map(partial(worth, weights), range(self.count), chunksize=2)))
        total, boundaries, right = rows.sum(axis=0)
        return float(total / boundaries), float(right / boundaries)


def moved(weights: Weights, names: Sequence[str], by: np.ndarray) -> Weights:
    """Return the weights with some of them moved."""
    return replace(weights, **{name: getattr(weights, name) + float(d) for name, d in zip(names, by, strict=True)})


def size_of(value: float) -> float:
    """Return how far a weight may go for a penalty of one."""
    return max(1.0, abs(value))


def climb(judge: Judge, weights: Weights, names: Sequence[str], steps: int) -> Weights:
    """Return weights that do better: one weight after the other, a step either way, smaller steps when none helps."""
    start = np.array([getattr(WEIGHTS, name) for name in names])
    sizes = np.array([size_of(value) for value in start])

    def score(some: Weights) -> float:
        now = np.array([getattr(some, name) for name in names])
        return judge(some)[0] - STIFF * float((((now - start) / sizes) ** 2).sum())

    best, step = score(weights), STEP
    ways = dict.fromkeys(names, 1.0)
    for turn in range(steps):
        before = best
        for at, name in enumerate(names):
            for way in (ways[name], -ways[name]):
                tried = replace(weights, **{name: round(float(getattr(weights, name) + way * step * sizes[at]), 3)})
                if (value := score(tried)) > best + 1e-5:
                    weights, best, ways[name] = tried, value, way
                    break
        print(f"turn {turn + 1}, steps of {step}: {best:.4f}", flush=True)
        if best - before < 0.002:
            step /= 2
        print("  ", {n: v for n, v in asdict(weights).items() if v != getattr(WEIGHTS, n)}, flush=True)
    return weights


def main() -> None:
    """Read the options, measure, climb, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--only", nargs="+", default=list(asdict(WEIGHTS)))
    parser.add_argument("--set", nargs="*", default=[])
    parser.add_argument("--steps", type=int, default=4)
    parser.add_argument("--forms", nargs="+", default=["heard.vtt"])
    parser.add_argument("--jobs", type=int, default=2)
    args = parser.parse_args()
    cases = sorted(p.parent for folder in args.folders for p in folder.glob("*/truth.json"))
    jobs = [(case, form) for case in cases for form in args.forms if (case / form).exists()]
    judge = Judge(jobs, args.jobs)
    weights = replace(WEIGHTS, **{name: float(value) for name, _, value in (s.partition("=") for s in args.set)})
    print(f"{len(jobs)} recordings: log {judge(weights)[0]:.4f}, probability {judge(weights)[1]:.4f}", flush=True)
    if args.steps:
        weights = climb(judge, weights, args.only, args.steps)
        print(f"log {judge(weights)[0]:.4f}, probability {judge(weights)[1]:.4f}")
    judge.pool.shutdown()


if __name__ == "__main__":
    main()
