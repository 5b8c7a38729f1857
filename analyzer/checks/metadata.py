"""What every check says about itself: listing, explaining, house rules and docs all read this."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from analyzer.model.audit import Finding, Severity

if TYPE_CHECKING:
    from analyzer.checks.context import CheckContext

COMMON_PRACTICE = "common practice, no source"

Varies = Literal["kind", "effort"]
Needs = Literal["plan", "effort"]
Mend = Literal["record", "cut", "edit", "captions", "plan"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number that house rules may change.

    ``low`` and ``high`` are both allowed; ``unit`` is the word printed after the number ("s", "%", "share"...).
    """

    name: str
    default: float
    unit: str
    low: float
    high: float
    meaning: str
    source: str = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Check:
    """One check: what it is called, why it matters, how it is measured, how to mend it, and what computes it.

    ``function`` takes a context with its facts filled in and gives findings without ids (they are numbered
    later, when all findings of a place are known). ``varies`` says whether house rules may set its first parameter
    (or its phrases) by kind of block and by effort; ``phrases`` what a list of phrases means to it, "" when it takes
    none; ``source`` marks where the check itself comes from, each parameter having its own.

    ``mend`` says what mends a finding, so who gets it on the fix list: words or work to ``record``, seconds to ``cut``
    (``measured`` less ``expected`` of them), another ``edit``, the ``captions``, or the ``plan`` of the next class.
    ``needs`` what only a plan that someone wrote can tell: the ``plan`` itself, without which the check is left out, or
    a move's ``effort``, without which nothing is certain.
    """

    id: str
    title: str
    means: str
    measured: str
    fix: str
    severity: Severity
    mend: Mend
    function: Callable[[CheckContext], tuple[Finding, ...]]
    parameters: tuple[Parameter, ...] = ()
    on: bool = True
    varies: tuple[Varies, ...] = ()
    phrases: str = ""
    source: str = COMMON_PRACTICE
    needs: Needs | None = None


def limit_s(default: float, meaning: str, name: str = "limit_s") -> Parameter:
    """Return the usual kind of parameter: a tolerance in seconds, from 0 to 10 minutes."""
    return Parameter(name, default, "s", 0.0, 600.0, meaning)
