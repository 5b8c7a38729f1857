"""The small YAML files a studio keeps, house rules and waivers: read as plans are, told of as what they are."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from analyzer.model.errors import AnalyzerError, PlanError
from analyzer.plans.mistakes import all_as_one

MAX_BYTES = 200_000


def read_house_file(path: Path, kind: type[AnalyzerError], name: str) -> bytes:
    """Return a file's bytes; an error of ``kind``, about ``name``, when it cannot be read or is too large."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise kind(name, "", f"cannot be read ({error.strerror})", "give a YAML file") from error
    if len(raw) > MAX_BYTES:
        raise kind(name, "", f"more than {MAX_BYTES} bytes", f"at most {MAX_BYTES} are allowed")
    return raw


def is_blank(raw: bytes) -> bool:
    """Return True when nothing but comments is there."""
    lines = raw.removeprefix(b"\xef\xbb\xbf").splitlines()
    return all(not line.strip() or line.strip().startswith(b"#") for line in lines)


@contextmanager
def told_as(kind: type[AnalyzerError], what: str, form: str) -> Iterator[None]:
    """Turn what the plan's reader raises inside into an error of ``kind`` that speaks of ``what`` it is.

    ``form`` says what is allowed, where the reader would speak of a plan.
    """
    try:
        yield
    except PlanError as error:
        mistakes = [
            kind(
                mistake.file,
                mistake.place,
                mistake.found.replace("a class plan", what).replace("no plan", f"no {what}"),
                form if "plan" in mistake.allowed.split() else mistake.allowed,
            )
            for mistake in error.mistakes
        ]
        raise all_as_one(kind, mistakes) from None
