"""How long the page and the figures take in a fresh process, imports included, and how large the page is.

    python tests/benchmarks/page.py [--repeat N]

The class is the one of ``speed.py``. Prints medians in seconds of processor time, so a busy machine tells the same,
and their ratio to ``import matplotlib.pyplot`` in a process of its own, measured in the same run.
"""

from __future__ import annotations

import argparse
import pickle
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from speed import long_class

from analyzer.audit import audit_recording

_IMPORT = "import time; began = time.process_time(); import matplotlib.pyplot; print(time.process_time() - began)"
_RENDER = """
import pickle, sys, time
audit = pickle.load(open(sys.argv[1], "rb"))
began = time.process_time()
from analyzer.reports import render_files
files = render_files(audit, sys.argv[2].split(","))
print(time.process_time() - began, len(files.get("report.html", b"")))
"""


def fresh(code: str, *arguments: str) -> list[float]:
    """Return the numbers that ``code`` prints in a process of its own."""
    ran = subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True, text=True)
    return [float(number) for number in ran.stdout.split()]


def median(code: str, repeat: int, *arguments: str) -> list[float]:
    """Return the median of every number over ``repeat`` fresh processes."""
    return [statistics.median(column) for column in zip(*(fresh(code, *arguments) for _ in range(repeat)), strict=True)]


def run(repeat: int) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        audit = audit_recording(*long_class(Path(folder)))
        kept = Path(folder) / "audit.pickle"
        kept.write_bytes(pickle.dumps(audit))
        base = median(_IMPORT, repeat)[0]
        print(f"import matplotlib.pyplot: {base:.2f} s")
        for kinds in ("html", "figures", "html,figures"):
            took, size = median(_RENDER, repeat, str(kept), kinds)
            told = f", {size / 1000:.0f} kB of page" if size else ""
            print(f"{kinds}: {took:.2f} s, {took / base:.1f} times that{told}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeat", type=int, default=5)
    run(parser.parse_args().repeat)
