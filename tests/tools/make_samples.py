"""Builds ``sample_data`` from the hand-written scripts in ``tests/tools/scripts``.

Run ``python tests/tools/make_samples.py`` after a script was edited. Same scripts, same bytes. What the rows of a
script mean is told in ``tests/written/script.py``.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
SCRIPTS = HERE / "scripts"
SAMPLES = HERE.parents[1] / "sample_data"
sys.path.insert(0, str(HERE.parents[1]))

from tests.written.script import Script, Word, place, read_script, spoken, truth  # noqa: E402

CAPTION_MAX_S, CAPTION_MIN_S, CAPTION_GAP_S, CAPTION_CHARS = 6.0, 2.0, 0.9, 84
STAMP_S = 20.0


def captions(words: list[Word]) -> str:
    """Return WebVTT: cut at sentence ends, at pauses and after six seconds; two rows of at most 42 characters."""
    groups: list[list[Word]] = [[]]
    for word in words:
        group = groups[-1]
        if group:
            end = group[-1].start_s + group[-1].length_s
            closed, chars = group[-1].text[-1] in ".!?", sum(len(w.text) + 1 for w in group) + len(word.text)
            ripe = closed and (end - group[0].start_s >= CAPTION_MIN_S or word.start_s - end > CAPTION_GAP_S)
            full = word.start_s + word.length_s - group[0].start_s > CAPTION_MAX_S or chars > CAPTION_CHARS
            if ripe or full:
                groups.append([])
        groups[-1].append(word)
    rows = ["WEBVTT", ""]
    for group in groups:
        first, last = group[0].start_s, group[-1].start_s + group[-1].length_s
        rows += [f"{stamp_ms(first)} --> {stamp_ms(last)}", *two_rows([w.text for w in group]), ""]
    return "\n".join(rows)


def stamp_ms(seconds: float) -> str:
    """Return ``hh:mm:ss.mmm``."""
    total = round(seconds * 1000)
    return f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}.{total % 1000:03d}"


def two_rows(words: list[str]) -> list[str]:
    """Break a caption's words into one row, or two of about the same length."""
    text = " ".join(words)
    if len(text) <= 42:
        return [text]
    cut = min(range(1, len(words)), key=lambda k: abs(len(" ".join(words[:k])) - len(" ".join(words[k:]))))
    return [" ".join(words[:cut]), " ".join(words[cut:])]


def stamped(words: list[Word]) -> str:
    """Return plain text with a stamp in whole seconds about every 20 s; sentences run on across stamps."""
    rows: list[list[str]] = []
    since = -math.inf
    for word in words:
        if word.start_s - since >= STAMP_S:
            since = math.floor(word.start_s)
            rows.append([f"[{since // 60}:{since % 60:02d}]"])
        rows[-1].append(word.text)
    return "\n".join(" ".join(row) for row in rows) + "\n"


def build(name: str) -> tuple[Script, list[Word]]:
    """Read a script and give every line and word its time."""
    script = read_script(SCRIPTS / f"{name}.script")
    place(script.lines)
    return script, spoken(script.lines)


def files() -> dict[str, str]:
    """Return every generated file as path under ``sample_data`` -> text."""
    made: dict[str, str] = {}
    for name, form, write in (
        ("harbour-strength", "captions.vtt", captions),
        ("attic-mobility", "transcript.txt", stamped),
    ):
        script, words = build(name)
        made[f"{name}/{form}"] = write(words)
        made[f"{name}/truth.json"] = json.dumps(truth(script), indent=1, ensure_ascii=False) + "\n"
    return made


def main() -> None:
    """Write the files."""
    for path, text in files().items():
        (SAMPLES / path).write_text(text, encoding="utf-8", newline="\n")
        print(path, len(text))


if __name__ == "__main__":
    main()
