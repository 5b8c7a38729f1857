"""House rules: a studio's own limits, severities and switches, over complete defaults.

Form: YAML, ``checks: {interval-long: {limit_s: 6, severity: low, on: false}}``, and optionally ``name``. Scalars are
read as text and converted here, so that ``on`` stays the word it is. Aliases, anchors and repeated keys are refused.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast, get_args

import yaml

from analyzer.checks.metadata import Check, Parameter
from analyzer.model.audit import Severity
from analyzer.model.errors import RulesError

MAX_BYTES = 200_000
_TRUE, _FALSE = ("true", "yes", "on"), ("false", "no", "off")
_SEVERITIES: tuple[str, ...] = get_args(Severity)


@dataclass(frozen=True, slots=True)
class Settings:
    """What holds for one check. ``severity_set`` True when the house chose it: then nothing raises it."""

    on: bool
    severity: Severity
    values: Mapping[str, float] = field(default_factory=dict)
    severity_set: bool = False


@dataclass(frozen=True, slots=True)
class HouseRules:
    """Settings of every check, by its id."""

    checks: Mapping[str, Settings]
    name: str = "built-in defaults"

    def value(self, check: str, parameter: str) -> float:
        """Return one limit of one check; unknown names raise KeyError."""
        return self.checks[check].values[parameter]


class _PlainLoader(yaml.BaseLoader):
    """Text scalars only; no aliases (they can blow up), no repeated keys (the last would win unseen)."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        if self.check_event(yaml.AliasEvent):
            raise yaml.MarkedYAMLError(problem="an alias (*name)", problem_mark=self.get_mark())
        return super().compose_node(parent, index)

    def construct_mapping(self, node: Any, deep: bool = False) -> dict[Any, Any]:
        seen: set[str] = set()
        for key, _ in node.value:
            if not isinstance(key, yaml.ScalarNode):
                raise yaml.MarkedYAMLError(problem="a key that is no plain word", problem_mark=key.start_mark)
            if key.value in seen:
                raise yaml.MarkedYAMLError(problem=f"'{key.value}' twice", problem_mark=key.start_mark)
            seen.add(key.value)
        return cast(dict[Any, Any], super().construct_mapping(node, deep=deep))


def defaults(checks: tuple[Check, ...]) -> HouseRules:
    """Return the built-in settings of the given checks."""
    return HouseRules({c.id: Settings(c.on, c.severity, {p.name: p.default for p in c.parameters}) for c in checks})


def load(path: Path, checks: tuple[Check, ...]) -> HouseRules:
    """Read a house rules file over the defaults.

    Raises
    ------
    RulesError
        When the file cannot be read, is no such YAML, or has mistakes (all of them in one line).
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise RulesError(path.name, "", f"cannot be read ({error.strerror})", "give a YAML file") from error
    if len(raw) > MAX_BYTES:
        raise RulesError(path.name, "", f"{len(raw)} bytes", f"at most {MAX_BYTES} are allowed")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RulesError(path.name, f"byte {error.start}", "not UTF-8 text", "save it as UTF-8") from error
    return parse(text, checks, path.name)


def parse(text: str, checks: tuple[Check, ...], name: str) -> HouseRules:
    """Read house rules from text; ``name`` is what errors call the file. Raises RulesError like :func:`load`."""
    tree = _tree(text, name)
    mistakes: list[str] = []
    by_id = {check.id: check for check in checks}
    settings = dict(defaults(checks).checks)
    for key in tree:
        if key not in ("name", "checks"):
            mistakes.append(f"'{key}' is unknown{_suggest(key, ('name', 'checks'))}")
    entries = tree.get("checks") or {}
    if not isinstance(entries, dict):
        mistakes.append("'checks' must map check ids to settings")
        entries = {}
    for check_id, entry in entries.items():
        if check_id not in by_id:
            mistakes.append(f"no check is called '{check_id}'{_suggest(check_id, tuple(by_id))}")
        elif not isinstance(entry, dict):
            mistakes.append(f"{check_id}: '{entry}' is no mapping; write {{limit: value}}")
        else:
            settings[check_id] = _merge(by_id[check_id], settings[check_id], entry, mistakes)
    if mistakes:
        count = "" if len(mistakes) == 1 else f"{len(mistakes)} mistakes: "
        raise RulesError(name, "", count + "; ".join(mistakes))
    return HouseRules(settings, str(tree.get("name") or name))


def _tree(text: str, name: str) -> dict[str, Any]:
    try:
        tree = yaml.load(text, Loader=_PlainLoader)
    except yaml.MarkedYAMLError as error:
        place = f"line {error.problem_mark.line + 1}" if error.problem_mark else ""
        raise RulesError(name, place, error.problem or "not YAML", "plain YAML without aliases is allowed") from error
    except (yaml.YAMLError, RecursionError) as error:
        raise RulesError(name, "", "not readable as YAML", "plain YAML without aliases is allowed") from error
    if tree in (None, ""):
        return {}
    if not isinstance(tree, dict):
        raise RulesError(name, "line 1", f"a {type(tree).__name__}", "start with 'checks:'")
    return tree


def _merge(check: Check, base: Settings, entry: dict[str, Any], mistakes: list[str]) -> Settings:
    on, severity, chosen = base.on, base.severity, base.severity_set
    values = dict(base.values)
    parameters = {p.name: p for p in check.parameters}
    for key, value in entry.items():
        where = f"{check.id}.{key}"
        if key == "on":
            if str(value).lower() in _TRUE + _FALSE:
                on = str(value).lower() in _TRUE
            else:
                mistakes.append(f"{where}: '{value}' is neither true nor false")
        elif key == "severity":
            if value in _SEVERITIES:
                severity, chosen = cast(Severity, value), True
            else:
                mistakes.append(f"{where}: '{value}' is none of {', '.join(_SEVERITIES)}")
        elif key in parameters:
            number = _number(parameters[key], value, where, mistakes)
            values[key] = values[key] if number is None else number
        else:
            mistakes.append(f"{where} is unknown{_suggest(key, ('on', 'severity', *parameters))}")
    if values.get("low_s", -math.inf) > values.get("high_s", math.inf):
        mistakes.append(f"{check.id}: low_s {values['low_s']:g} is over high_s {values['high_s']:g}")
    return Settings(on, severity, values, chosen)


def _number(parameter: Parameter, value: Any, where: str, mistakes: list[str]) -> float | None:
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if math.isfinite(number) and parameter.low <= number <= parameter.high:
        return number
    mistakes.append(f"{where}: '{value}' is not a number from {parameter.low:g} to {parameter.high:g} {parameter.unit}")
    return None


def _suggest(word: str, known: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(str(word), known, n=1, cutoff=0.5)
    return f" (did you mean '{near[0]}'?)" if near else f" (known: {', '.join(known)})"
