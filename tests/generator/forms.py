"""A class written down: plan, truth, and the recording as captions, stamped text and word times."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import Any

import yaml

from tests.generator.classes import GeneratedClass, Word
from tests.generator.noise import as_digits, hear

CAPTION_S, CAPTION_CHARS, BREAK_S = 6.0, 84, 1.2
ROLL_WORDS = 8
LAST_SHARE_S = 0.01  # a finished line of rolling captions is held this long


def spoken_words(made: GeneratedClass) -> list[Word]:
    """Return the words as said."""
    return made.words


def heard_words(made: GeneratedClass) -> list[Word]:
    """Return the words as a recogniser heard them, better in one class than in another; half of them get digits."""
    heard = hear(made.lines, made.seed, Random(f"quality {made.seed}").uniform(0.4, 1.6))
    return as_digits(heard) if made.seed % 2 else heard


def _stamp(seconds: float) -> str:
    total = round(seconds * 1000)
    return f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}.{total % 1000:03d}"


def caption_groups(words: Sequence[Word]) -> list[list[Word]]:
    """Return captions of up to 6 s, cut at sentence ends and at silences."""
    groups: list[list[Word]] = [[]]
    for word in words:
        group = groups[-1]
        if group:
            closed = group[-1].text[-1] in ".!?"
            silent = word.start - group[-1].end > BREAK_S
            ripe = closed and (group[-1].end - group[0].start >= 2.0 or word.start - group[-1].end > 0.9)
            full = word.end - group[0].start > CAPTION_S or sum(len(w.text) + 1 for w in group) > CAPTION_CHARS
            if silent or ripe or full:
                groups.append([])
        groups[-1].append(word)
    return groups


def vtt(words: Sequence[Word], made: GeneratedClass) -> str:
    """Return WebVTT captions."""
    rows = ["WEBVTT", ""]
    for group in caption_groups(words):
        rows += [f"{_stamp(group[0].start)} --> {_stamp(group[-1].end)}", " ".join(w.text for w in group), ""]
    return "\n".join(rows)


def rollup(words: Sequence[Word], made: GeneratedClass) -> str:
    """Return automatic captions that roll up: lower case, no punctuation, each line twice, word times inline."""
    plain = [Word(w.text.lower().strip(".,!?;:"), w.start, w.end) for w in words]
    plain = [w for w in plain if w.text]
    lines: list[list[Word]] = []
    for word in plain:
        if not lines or len(lines[-1]) >= ROLL_WORDS or word.start - lines[-1][-1].end > 2.0:
            lines.append([])
        lines[-1].append(word)
    rows = ["WEBVTT", "Kind: captions", "Language: en", ""]
    before = " "
    for index, line in enumerate(lines):
        begin, end = line[0].start, line[-1].end
        until = min(end + 2.0, lines[index + 1][0].start if index + 1 < len(lines) else end + 2.0)
        held = max(begin + LAST_SHARE_S, until - LAST_SHARE_S)
        inline = line[0].text + "".join(f"<{_stamp(w.start)}><c> {w.text}</c>" for w in line[1:])
        text = " ".join(w.text for w in line)
        rows += [f"{_stamp(begin)} --> {_stamp(held)} align:start position:0%", before, inline, ""]
        rows += [f"{_stamp(held)} --> {_stamp(held + LAST_SHARE_S)} align:start position:0%", text, " ", ""]
        before = text
    return "\n".join(rows)


def words_json(words: Sequence[Word], made: GeneratedClass) -> str:
    """Return word times in segments as recognisers write them; onsets are off by up to 0.1 s."""
    rng = Random(f"json {made.seed}")
    segments, last = [], 0.0
    for group in caption_groups(words):
        row = []
        for word in group:
            start = max(last, round(word.start + max(-0.1, min(0.1, rng.gauss(0, 0.04))), 2))
            end = max(start, round(word.end, 2))
            last = start
            probability = round(rng.uniform(0.5, 1.0), 2)
            row.append({"word": " " + word.text, "start": start, "end": end, "probability": probability})
        text = "".join(w["word"] for w in row)
        segments.append({"start": row[0]["start"], "end": row[-1]["end"], "text": text, "words": row})
    return json.dumps({"language": "en", "text": "".join(s["text"] for s in segments), "segments": segments})


def stamped(grain_s: float) -> Callable[[Sequence[Word], GeneratedClass], str]:
    """Return a writer of plain text with a stamp in whole seconds about every ``grain_s`` seconds."""

    def write(words: Sequence[Word], made: GeneratedClass) -> str:
        rows: list[list[str]] = []
        since = -1e9
        for word in words:
            if word.start - since >= grain_s:
                since = float(int(word.start))
                rows.append([f"[{int(since) // 60}:{int(since) % 60:02d}]"])
            rows[-1].append(word.text)
        return "\n".join(" ".join(row) for row in rows) + "\n"

    return write


Writer = Callable[[Sequence[Word], GeneratedClass], str]
FORMS: dict[str, tuple[Callable[[GeneratedClass], list[Word]], Writer]] = {
    "words.json": (heard_words, words_json),
    "clean.vtt": (spoken_words, vtt),
    "heard.vtt": (heard_words, vtt),
    "rollup.vtt": (heard_words, rollup),
    "coarse-10.txt": (heard_words, stamped(10)),
    "coarse-20.txt": (heard_words, stamped(20)),
    "coarse-30.txt": (heard_words, stamped(30)),
    "coarse-60.txt": (heard_words, stamped(60)),
}
"""Name of the file -> which words it holds, and how they are written."""


def truth_dict(made: GeneratedClass) -> dict[str, Any]:
    """Return the truth in the shape of annotated classes, with lost rounds and slips beside."""
    return {
        "intervals": made.intervals,
        "tags": made.events,
        "findings": made.findings,
        "traps": made.traps,
        "lost_rounds": made.lost_rounds,
        "slips": made.slips,
        "made": {"seed": made.seed, "style": made.style, "shape": made.shape, "timing": made.timing},
    }


def write_case(made: GeneratedClass, folder: Path, forms: Sequence[str] | None = None) -> None:
    """Write ``plan.yaml``, ``truth.json`` and the recording in the given forms (all by default) into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    plan = yaml.safe_dump(made.plan_dict, sort_keys=False, allow_unicode=True)
    (folder / "plan.yaml").write_text(plan, encoding="utf-8")
    (folder / "truth.json").write_text(json.dumps(truth_dict(made), indent=1) + "\n", encoding="utf-8")
    kept: dict[Any, list[Word]] = {}
    for form in FORMS if forms is None else forms:
        source, write = FORMS[form]
        if source not in kept:
            kept[source] = source(made)
        (folder / form).write_text(write(kept[source], made), encoding="utf-8")
