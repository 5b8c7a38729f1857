"""Takes a class plan as a file. Gives a Plan, its schedule of planned intervals, its review, what to say when, and the
bytes of a plan in any form.

Never looks at a recording; only :func:`read_plan` touches the disk.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from analyzer.model.plan import Plan
from analyzer.plans.durations import parse_duration_s, print_duration
from analyzer.plans.foreign import OLD_OFFICE, ZIPPED
from analyzer.plans.grid import csv_grid, workbook_grid
from analyzer.plans.mistakes import Mistakes, refuse
from analyzer.plans.review import PlanReview, review_plan
from analyzer.plans.schedule import make_schedule
from analyzer.plans.script import make_script
from analyzer.plans.table import read_table
from analyzer.plans.table_write import template_csv, template_yaml, to_csv, to_workbook
from analyzer.plans.validate import build_plan
from analyzer.plans.write import to_yaml
from analyzer.plans.yaml_reader import Node, decode, read_bytes, read_text

__all__ = [
    "TEMPLATES",
    "WRITERS",
    "PlanReview",
    "make_schedule",
    "make_script",
    "parse_duration_s",
    "print_duration",
    "read_plan",
    "review_plan",
    "to_csv",
    "to_workbook",
    "to_yaml",
]


WRITERS: Mapping[str, Callable[[Plan], bytes]] = {
    "yaml": lambda plan: to_yaml(plan).encode(),
    "yml": lambda plan: to_yaml(plan).encode(),
    "csv": to_csv,
    "xlsx": to_workbook,
}
"""What writes a plan, by the ending of the file's name."""
TEMPLATES: Mapping[str, Callable[[], bytes]] = {
    "yaml": lambda: template_yaml().encode(),
    "yml": lambda: template_yaml().encode(),
    "csv": template_csv,
    "xlsx": lambda: to_workbook(None),
}
"""What writes a template that explains itself, by the ending of the file's name."""


def read_plan(path: Path) -> Plan:
    """Return the class plan in a file: YAML, or a table in CSV or a workbook, told from the content.

    ``Plan.name`` is the bare file name and ``Plan.sha256`` the digest of the file's bytes, so that a report can
    say which plan it was made from without saying where it lay.

    Raises
    ------
    PlanError
        When the file cannot be used; ``mistakes`` holds every mistake found, each a one-line error.
    """
    file = str(path)
    data = read_bytes(path, file)
    plan = build_plan(*_tree(data, file))
    return replace(plan, name=Path(path).name, sha256=hashlib.sha256(data).hexdigest())


def _tree(data: bytes, file: str) -> tuple[Node, Mistakes]:
    """Return the tree of a plan in any form, and what is known to be wrong with it."""
    if data.startswith(OLD_OFFICE):
        raise refuse(file, 0, "is an old workbook or one with a password", "save it as .xlsx without a password")
    if data.startswith(ZIPPED):
        return read_table(workbook_grid(data, file), file)
    text = decode(data, file)
    grid = csv_grid(text, file)
    return (read_text(text, file), Mistakes(file)) if grid is None else read_table(grid, file)
