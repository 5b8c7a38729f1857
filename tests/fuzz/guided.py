"""Long fuzzing led by coverage, with atheris (``pip install ".[fuzz]"``; Linux), one target a process:

    python -m tests.fuzz.guided webvtt --runs 100000 --seed 1

Mutates by coverage and by our own changes in turn. Stops at the first input that breaks the program, or takes too long,
and keeps it under ``build/fuzz/TARGET/``. Its corpus grows in ``build/fuzz/corpus/TARGET/``.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from random import Random

import atheris

with atheris.instrument_imports(include=["analyzer"]):
    from tests.fuzz.mutate import LONGEST, mutated
    from tests.fuzz.run import KEPT, PATIENCE_S, inputs
    from tests.fuzz.targets import TARGETS, attempt


def main() -> None:
    """Never returns: atheris ends the process."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target", choices=sorted(TARGETS))
    parser.add_argument("--runs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    good = inputs(asked.target)
    kept, corpus = KEPT / asked.target, KEPT / "corpus" / asked.target
    for folder in (kept, corpus):
        folder.mkdir(parents=True, exist_ok=True)
    for data in good:
        (corpus / hashlib.sha256(data).hexdigest()[:12]).write_bytes(data)

    def changed(data: bytes, longest: int, number: int) -> bytes:
        rng = Random(number)
        return atheris.Mutate(data, longest) if rng.random() < 0.5 else mutated(data, rng, good)[:longest]

    def once(data: bytes) -> None:
        attempt(TARGETS[asked.target], data)

    flags = [f"-runs={asked.runs}", f"-seed={asked.seed}", f"-max_len={LONGEST}", f"-timeout={PATIENCE_S:.0f}"]
    flags += [f"-artifact_prefix={kept}/", "-print_final_stats=1", "-rss_limit_mb=2048", str(corpus)]
    atheris.Setup([sys.argv[0], *flags], once, custom_mutator=changed)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
