"""One recording against one plan, from files to an Audit: the few calls in order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

from analyzer.alignment import align
from analyzer.alignment.align import place
from analyzer.alignment.discover import Stretch, discover
from analyzer.alignment.naming import listed_before, name_scores, named_within, work_odds
from analyzer.checks import (
    CheckContext,
    apply_waivers,
    gather_facts,
    limits_used,
    read_rules,
    read_waivers,
    run_checks,
)
from analyzer.language import DEFAULT, load_language, speaking
from analyzer.language.detect import AUTO, check_language, language_of
from analyzer.model.audit import Audit
from analyzer.model.transcript import Transcript
from analyzer.model.events import Events
from analyzer.model.plan import Move, Plan
from analyzer.plans import make_schedule, read_plan
from analyzer.plans.draft import draft
from analyzer.plans.rounds import Row
from analyzer.reports import write_folder
from analyzer.reports.steps import step_bytes
from analyzer.spotting import spot
from analyzer.spotting.vocabulary import listen
from analyzer.transcripts import read_transcript

Step = TypeVar("Step")


def audit_recording(
    recording: Path,
    plan: Path,
    rules: Path | None = None,
    *,
    language: str = AUTO,
    keep_steps: Path | None = None,
) -> Audit:
    """Return what the transcript in ``recording`` says about how the class in ``plan`` was delivered.

    Waivers kept beside the plan are honoured: see :func:`analyzer.checks.read_waivers`.

    Parameters
    ----------
    rules : house rules that replace the built-in limits; None keeps those.
    language : code of the phrase data to listen with; "auto" lets the words tell, English where they don't.
    keep_steps : folder that gets what left each room as JSON, written as it leaves, so that the steps before a
        failure are there too.

    Raises
    ------
    AnalyzerError
        When there is no such language, when a file cannot be used (all readers name the file and the place), when plan
        and recording do not belong together, or when a step cannot be written.
    """
    asked = check_language(language)
    kept = _Keeper(keep_steps)
    house_rules = read_rules(rules)
    class_plan = kept("1-plan", read_plan(plan))
    waivers = read_waivers(plan)
    read, code = _read_in(asked, recording)
    transcript = kept("2-transcript", read)
    with speaking(code):
        schedule = kept("3-schedule", make_schedule(class_plan))
        events = kept("4-events", spot(transcript, class_plan, load_language(code)))
        alignment = kept("5-alignment", align(transcript, class_plan, schedule, events))
        context = CheckContext(transcript, class_plan, schedule, events, alignment, house_rules)
        facts = kept("6-facts", gather_facts(context))
        findings, stale = apply_waivers(run_checks(replace(context, facts=facts)), waivers)
        kept("7-findings", findings)
    limits = limits_used(house_rules)
    return Audit(transcript, class_plan, schedule, events, alignment, facts, findings, limits, stale=stale)


def draft_plan(recording: Path, *, language: str = AUTO) -> Drafted:
    """Return the plan a recording seems to follow."""
    read, code = _read_in(check_language(language), recording)
    spoken = load_language(code)
    moves, events = listen(read, spoken)
    with speaking(code):
        found = discover(read, len(moves), events)
        for _ in range(2):
            rows = _rows(found, events, moves)
            plan, kept = draft(recording.stem, rows, moves)
            starts = {row.start_s for row in kept}
            found = tuple(stretch for stretch in found if stretch.start_s in starts)
        intervals = []
        schedule = make_schedule(plan)
        for _ in range(1):
            heard = spot(read, plan, spoken)
            alignment = place(read, plan, schedule, heard)
        for iv in alignment.intervals:
            if iv.status == "worked" and iv.planned is not None:
                intervals.append(DraftInterval(iv.move, iv.start_s, iv.end_s, schedule.intervals[iv.planned].work_s))
    return Drafted(plan, tuple(intervals))


def _rows(found: Sequence[Stretch], events: Events, moves: Sequence[Move]) -> list[Row]:
    """Return stretches of work as the rows a plan is drawn from."""
    named = name_scores(found, events.mentions, moves)
    lists = listed_before(found, events.mentions)
    within = named_within(found, events.mentions)
    odds = work_odds(found, within, named)
    turns = [e.at_s for e in events.signals if e.kind == "switch"]
    laps = [e.at_s for e in events.signals if e.kind == "round"]
    befores = [0.0, *(s.end_s - 3 for s in found)]
    return [
        Row(
            s.start_s,
            s.end_s,
            tuple(named[at].tolist()),
            odds[at],
            s.side,
            s.second,
            turns=any(s.start_s + 0.35 * (s.end_s - s.start_s) < t < s.end_s - 0.35 * (s.end_s - s.start_s) for t in turns),
            listed=lists[at],
            within=within[at],
            round_said=any(befores[at] <= t < s.start_s + 3 for t in laps),
        )
        for at, s in enumerate(found)
    ]


@dataclass(frozen=True, slots=True)
class DraftInterval:
    """An interval"""

    move: str
    start_s: float
    end_s: float
    work_s: float


@dataclass(frozen=True, slots=True)
class Drafted:
    plan: Plan
    intervals: tuple[DraftInterval, ...]


def _read_in(asked: str, recording: Path) -> tuple[Transcript, str]:
    """Return the transcript and the language it is in; read again when that is not the one it was first timed for."""
    code = DEFAULT if asked == AUTO else asked
    with speaking(code):
        transcript = read_transcript(recording)
    found = language_of(transcript.words.norm) if asked == AUTO else code
    if found != code:
        with speaking(found):
            transcript = read_transcript(recording)
    return transcript, found


class _Keeper:
    """Hands a step's result on and, with a folder, writes it there first."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    def __call__(self, name: str, result: Step) -> Step:
        if self.folder is not None:
            write_folder(self.folder, {f"{name}.json": step_bytes(result)})
        return result
