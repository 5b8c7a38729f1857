"""House rules: a studio's own limits, severities, switches and phrases, over complete defaults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from analyzer.checks.metadata import Check
from analyzer.model.audit import Severity
from analyzer.model.plan import BlockKind, Effort


@dataclass(frozen=True, slots=True)
class Settings:
    """What holds for one check. ``severity_set`` True when the house chose it: then nothing raises it.

    ``by_kind`` and ``by_effort`` stand in place of the first of ``values`` in such blocks and moves; effort, which
    speaks of the move itself, wins over kind. ``phrases`` are the house's list; ``phrases_by_kind`` those of every
    block of a kind.
    """

    on: bool
    severity: Severity
    values: Mapping[str, float] = field(default_factory=dict)
    severity_set: bool = False
    by_kind: Mapping[str, float] = field(default_factory=dict)
    by_effort: Mapping[str, float] = field(default_factory=dict)
    phrases: tuple[str, ...] = ()
    phrases_by_kind: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HouseRules:
    """Settings of every check, by its id."""

    checks: Mapping[str, Settings]
    name: str = "built-in defaults"

    def value(self, check: str, parameter: str, kind: BlockKind | None = None, effort: Effort | None = None) -> float:
        """Return one limit of one check, as it holds in a kind of block and for an effort.

        Unknown names raise KeyError.
        """
        settings = self.checks[check]
        value = settings.values[parameter]
        if parameter != next(iter(settings.values)):
            return value
        return settings.by_effort.get(effort or "", settings.by_kind.get(kind or "", value))


def defaults(checks: tuple[Check, ...]) -> HouseRules:
    """Return the built-in settings of the given checks."""
    return HouseRules({c.id: Settings(c.on, c.severity, {p.name: p.default for p in c.parameters}) for c in checks})


def listed(check: str, settings: Settings) -> dict[str, float | str | bool]:
    """Return everything that holds for one check, as ``check.name``; a list of phrases as one text."""
    out: dict[str, float | str | bool] = {f"{check}.on": settings.on, f"{check}.severity": settings.severity}
    out.update({f"{check}.{name}": value for name, value in settings.values.items()})
    out.update({f"{check}.by_kind.{kind}": value for kind, value in settings.by_kind.items()})
    out.update({f"{check}.by_effort.{effort}": value for effort, value in settings.by_effort.items()})
    if settings.phrases:
        out[f"{check}.phrases"] = "; ".join(settings.phrases)
    out.update({f"{check}.phrases.{kind}": "; ".join(some) for kind, some in settings.phrases_by_kind.items()})
    return out
