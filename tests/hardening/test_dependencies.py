"""What the package brings along: every distribution is under a licence that lets anyone use it."""

from __future__ import annotations

import re
from importlib.metadata import Distribution, PackageNotFoundError, distribution

NAME = "recorded-class-analyzer"
PERMISSIVE = re.compile(r"\b(?:MIT|MIT-CMU|BSD|Apache|PSF|Python Software Foundation|HPND|ISC|0BSD|Zlib|CC0)\b")
COPYLEFT = re.compile(r"\b(?:[AL]?GPL|GNU)\b")


def folded(name: str) -> str:
    """Return a name as package registries compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def brought() -> dict[str, Distribution]:
    """Return every distribution that an installation without extras needs, by folded name."""
    found: dict[str, Distribution] = {}
    waiting = [NAME]
    while waiting:
        name = folded(waiting.pop())
        if name in found:
            continue
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:  # needed on another system or version of Python only
            continue
        for need in found[name].requires or ():
            if "extra ==" not in need.partition(";")[2]:
                waiting.append(re.split(r"[\s;<>=!~\[(]", need, maxsplit=1)[0])
    del found[NAME]
    return found


def licence(given: Distribution) -> str:
    """Return what a distribution says of its licence: expression, classifiers, or the first line of the text."""
    data = given.metadata
    said = [data.get("License-Expression"), *(data.get_all("Classifier") or ())]
    words = [text.replace("License :: OSI Approved :: ", "") for text in said if text and "OSI Approved" in text]
    first = (data.get("License") or "").strip().splitlines()[:1]
    return said[0] or ", ".join(words) or (first[0] if first else "")


def test_every_licence_is_permissive():
    found = {name: licence(given) for name, given in brought().items()}
    assert len(found) > 12
    assert {
        name: words for name, words in found.items() if not PERMISSIVE.search(words) or COPYLEFT.search(words)
    } == {}
