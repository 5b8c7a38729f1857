"""Good files of every kind that is read, small, for a fuzzer to start from: one invented two-minute class."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache

from analyzer.plans import WRITERS, read_plan
from tests.fuzz.folder import scratch

PLAN = """\
title: Two minute tide
coach: Coach A
equipment: [mat]
blocks:
  - name: Main
    kind: main
    rounds: 2
    rest_between_rounds: 10s
    moves:
      - {name: Squat, work: 20s, rest: 5s, effort: hard, easier: [hold a chair], cues: [knees out]}
      - {name: Side plank, also: [plank on the side], work: 20s, side: each}
"""
SAID = (
    (1.0, "Welcome to two minutes of work, two rounds, let's go."),
    (5.0, "Squat first, three, two, one, go."),
    (10.5, "Knees out, and breathe. Hold a chair if you want it easier."),
    (20.0, "Ten seconds left."),
    (27.0, "Three, two, one, and rest."),
    (31.0, "Side plank next, left side, and go."),
    (40.0, "Switch, right side now."),
    (48.0, "Three, two, one, rest."),
    (56.0, "Round two. Back to the squat, go."),
    (66.0, "Half-way."),
    (74.0, "Two, one, and stop."),
    (81.0, "Side plank, left, go."),
    (91.0, "Other side."),
    (99.0, "And done. Well worked."),
)
RULES = """\
name: Our studio
checks:
  interval-long: {limit_s: 3, by_kind: {cool-down: 10}, by_effort: {easy: 8}, severity: high}
  harder-missing: {on: true}
  phrase-banned:
    phrases: [no excuses]
  phrase-required:
    by_kind: {main: [take your time]}
"""
WAIVERS = 'waivers:\n  - finding: "9cd44b2cb0c9"\n    reason: "the story stays"\n  # a remark\n'


def _stamp(seconds: float, point: str = ".") -> str:
    ms = round(seconds * 1000)
    return f"{ms // 3600000:02d}:{ms // 60000 % 60:02d}:{ms // 1000 % 60:02d}{point}{ms % 1000:03d}"


def _rows() -> list[tuple[float, float, str]]:
    return [(start, start + 0.4 * len(text.split()), text) for start, text in SAID]


def _webvtt() -> str:
    return "WEBVTT\n\n" + "".join(f"{_stamp(a)} --> {_stamp(b)}\n{text}\n\n" for a, b, text in _rows())


def _rollup() -> str:
    parts = ["WEBVTT\nKind: captions\n"]
    before = " "
    for start, end, text in _rows():
        words = text.split()
        inline = words[0] + "".join(f"<{_stamp(start + 0.4 * n)}><c> {w}</c>" for n, w in enumerate(words) if n)
        parts.append(f"{_stamp(start)} --> {_stamp(end)} align:start\n{before}\n{inline}\n")
        parts.append(f"{_stamp(end)} --> {_stamp(end + 0.01)} align:start\n{text}\n \n")
        before = text
    return "\n".join(parts)


def _subrip() -> str:
    rows = enumerate(_rows(), 1)
    return "".join(f"{n}\n{_stamp(a, ',')} --> {_stamp(b, ',')}\n<i>{text}</i>\n\n" for n, (a, b, text) in rows)


def _sbv() -> str:
    return "".join(f"{_stamp(a)[1:]},{_stamp(b)[1:]}\n{text}\n\n" for a, b, text in _rows())


def _ass() -> str:
    head = (
        "[Script Info]\nScriptType: v4.00+\n\n[V4+ Styles]\nFormat: Name, Fontname, Fontsize\nStyle: Default,Arial,20\n"
        "\n[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
    )
    rows = (f"Dialogue: 0,{_stamp(a)[1:-1]},{_stamp(b)[1:-1]},Default,,0,0,0,,{text}\n" for a, b, text in _rows())
    return head + "".join(rows)


def _ttml() -> str:
    body = "".join(f'<p begin="{_stamp(a)}" end="{b:.3f}s"><span>{text}</span><br/></p>' for a, b, text in _rows())
    head = '<head><metadata><agent xml:id="a"><name>Coach A</name></agent></metadata></head>'
    return f'<tt xmlns="http://www.w3.org/ns/ttml" frameRate="25">{head}<body><div agent="a">{body}</div></body></tt>'


def _words() -> list[dict[str, object]]:
    rows = [(start + 0.4 * n, word) for start, text in SAID for n, word in enumerate(text.split())]
    return [{"word": f" {word}", "start": at, "end": at + 0.3, "probability": 0.9} for at, word in rows]


def _segments() -> str:
    rows = [
        {
            "start": a,
            "end": b,
            "text": text,
            "speaker": "A",
            "words": [w for w in _words() if a <= float(w["start"]) < b],
        }  # type: ignore[arg-type]
        for a, b, text in _rows()
    ]
    return json.dumps({"language": "en", "segments": rows})


def _table() -> str:
    return "start,end,speaker,text\n" + "".join(f'{a},{b},Coach,"{text}"\n' for a, b, text in _rows())


def _word_table() -> str:
    return "start_ms\tword\n" + "".join(f"{float(w['start']) * 1000:.0f}\t{w['word']}\n" for w in _words())  # type: ignore[arg-type]


def _stamped() -> str:
    return "Coach A (0:00): hello\n" + "".join(f"[{int(a) // 60}:{int(a) % 60:02d}] {t}\n" for a, _, t in _rows())


def _bare() -> str:
    return "".join(f"{int(a) // 60}:{int(a) % 60:02d}.{a % 1 * 10:.0f} - 1:59 {text}\n" for a, _, text in _rows())


TRANSCRIPTS: Mapping[str, Callable[[], str]] = {
    "webvtt": _webvtt,
    "rollup": _rollup,
    "subrip": _subrip,
    "sbv": _sbv,
    "ass": _ass,
    "ttml": _ttml,
    "segments": _segments,
    "words": lambda: json.dumps(_words()),
    "table": _table,
    "word-table": _word_table,
    "stamped": _stamped,
    "bare": _bare,
}
"""Name of a form of transcript -> the class in it."""


@cache
def plan_in(ending: str) -> bytes:
    """Return the class plan as ``yaml``, ``csv`` or ``xlsx``."""
    return PLAN.encode() if ending == "yaml" else WRITERS[ending](read_plan(scratch("plan.yaml", PLAN.encode())))


@cache
def report() -> bytes:
    """Return the stored report of the class."""
    from analyzer.audit import audit_recording
    from analyzer.reports import report_bytes

    recording = scratch("seed.vtt", _webvtt().encode())
    return report_bytes(audit_recording(recording, scratch("plan.yaml", PLAN.encode())))
