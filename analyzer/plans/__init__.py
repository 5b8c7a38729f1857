"""Takes a class plan as a file. Gives a Plan, its schedule of planned intervals, and a review of what it lacks.

Never looks at a recording; only :func:`read_plan` touches the disk.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from analyzer.model.plan import Plan
from analyzer.plans.durations import parse_duration_s, print_duration
from analyzer.plans.review import PlanReview, review_plan
from analyzer.plans.schedule import make_schedule
from analyzer.plans.validate import build_plan
from analyzer.plans.write import to_yaml
from analyzer.plans.yaml_reader import read_bytes, read_tree

__all__ = [
    "PlanReview",
    "make_schedule",
    "parse_duration_s",
    "print_duration",
    "read_plan",
    "review_plan",
    "to_yaml",
]


def read_plan(path: Path) -> Plan:
    """Return the class plan in a YAML file.

    ``Plan.name`` is the bare file name and ``Plan.sha256`` the digest of the file's bytes, so that a report can
    say which plan it was made from without saying where it lay.

    Raises
    ------
    PlanError
        When the file cannot be used; ``mistakes`` holds every mistake found, each a one-line error.
    """
    file = str(path)
    data = read_bytes(path, file)
    plan = build_plan(read_tree(data, file), file)
    return replace(plan, name=Path(path).name, sha256=hashlib.sha256(data).hexdigest())
