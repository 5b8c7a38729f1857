"""A WebVTT metadata track for a player's on-screen timer: what is worked from when to when, as JSON in each cue.

Cues follow one another without overlap: ``work`` for every interval as recorded, ``gap`` for what lies between (rest,
demo, talk). The payload is one line of JSON in which no character means anything to WebVTT.
"""

from __future__ import annotations

import json
from typing import Any

from analyzer.reports.exports.stored import recorded
from analyzer.reports.exports.vtt import TimedText, in_order, webvtt_bytes
from analyzer.reports.plain import rounded, terminal_text
from analyzer.reports.report_json import Json

SHORTEST_MS = 500  # our judgement: a shorter gap is the blink between two intervals, no rest to count down


def timer_vtt(report: Json) -> bytes:
    """Return the track. Missing intervals are not in it; unplanned ones are, with ``planned_seconds`` null.

    Keys of a payload: ``kind``; ``seconds`` it lasts; for work ``interval``, ``block``, ``round``, ``rounds``,
    ``move``, ``side``, ``planned_seconds``, ``number`` and ``of``; ``next``: move and side of the work that
    follows, or null.
    """
    rows = recorded(report)
    rounds: dict[str, int] = {}
    for row in rows:
        rounds[row["block"]] = max(rounds.get(row["block"], 1), row["round"])
    cues: list[TimedText] = []
    end = 0
    for number, row in enumerate(rows, 1):
        start, until = in_order(row["start"], row["end"], end)
        if start - end >= SHORTEST_MS:
            cues.append(_cue(end, start, {"kind": "gap", "next": _named(row)}))
        else:
            start = end if cues else start
        following = _named(rows[number]) if number < len(rows) else None
        work = {
            "kind": "work",
            "interval": row["id"],
            "block": terminal_text(row["block"]),
            "round": row["round"],
            "rounds": rounds[row["block"]],
            **_named(row),
            "planned_seconds": row["planned_seconds"],
            "number": number,
            "of": len(rows),
            "next": following,
        }
        cues.append(_cue(start, until, work))
        end = until
    return webvtt_bytes(cues, f"Timer of {terminal_text(report['title']) or 'a class'}", raw=True)


def _named(row: dict[str, Any]) -> dict[str, Any]:
    return {"move": terminal_text(row["move"]), "side": row["side"]}


def _cue(start_ms: int, end_ms: int, payload: dict[str, Any]) -> TimedText:
    text = json.dumps(payload | {"seconds": rounded((end_ms - start_ms) / 1000)}, ensure_ascii=False)
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return TimedText(start_ms, end_ms, text)
