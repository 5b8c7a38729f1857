"""How the cost of an audit grows with the length of a recording and of its plan, from ten minutes to eight hours.

    python tests/benchmarks/growth.py [--times 1 2 4 8 20] [--seed 708]

One invented class is said over and over, its plan as many times as long (the blocks get numbers, the moves keep their
names); before it a short class of ten minutes. Prints seconds of processor time an audit, the least of three, and the
same an hour of recording: the last column should not grow.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.reports.report_json import report_bytes  # noqa: E402
from tests.benchmarks.speed import least_ms  # noqa: E402
from tests.generator import generate  # noqa: E402
from tests.generator.forms import caption_groups  # noqa: E402

SHORT_SEED = 702
TIMES = (1, 2, 4, 8, 20)
HEAD = "| hours | words | intervals | found | s an audit | s an hour |\n| --- | --- | --- | --- | --- | --- |"


def stamp(seconds: float) -> str:
    total = round(seconds * 1000)
    return f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}.{total % 1000:03d}"


def write_long(seed: int, times: int, folder: Path) -> tuple[Path, Path, float, int]:
    """Write the class said ``times`` times; return captions, plan, hours and planned intervals."""
    made = generate(seed, "talkative")
    rows, blocks = ["WEBVTT", ""], []
    for k in range(times):
        offset = k * made.duration_s
        for group in caption_groups(made.words):
            rows += [
                f"{stamp(group[0].start + offset)} --> {stamp(group[-1].end + offset)}",
                " ".join(w.text for w in group),
                "",
            ]
        blocks += [block | {"name": f"{block['name']} {k + 1}"} for block in made.plan_dict["blocks"]]
    recording, plan = folder / f"{seed}-{times}.vtt", folder / f"{seed}-{times}.yaml"
    recording.write_text("\n".join(rows), encoding="utf-8")
    plan.write_text(json.dumps({"title": "Over and over", "blocks": blocks}), encoding="utf-8")
    return recording, plan, times * made.duration_s / 3600, times * len(made.intervals)


def measured(seed: int, times: Sequence[int]) -> Iterator[str]:
    """Give a row of the table for the short class, then for each length."""
    with tempfile.TemporaryDirectory() as temp:
        for number, repeated in ((SHORT_SEED, 1), *((seed, n) for n in times)):
            recording, plan, hours, intervals = write_long(number, repeated, Path(temp))
            audit = audit_recording(recording, plan)
            found = sum(iv.status == "worked" for iv in audit.alignment.intervals)
            words = len(audit.transcript.words)
            job = {"audit": lambda at=(recording, plan): report_bytes(audit_recording(*at))}
            took = least_ms(job, 3)["audit"] / 1000
            yield f"| {hours:.2f} | {words} | {intervals} | {found} | {took:.2f} | {took / hours:.2f} |"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, nargs="+", default=list(TIMES))
    parser.add_argument("--seed", type=int, default=708)
    args = parser.parse_args()
    print(HEAD)
    for row in measured(args.seed, args.times):
        print(row)


if __name__ == "__main__":
    main()
