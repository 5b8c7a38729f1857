"""One recording against one plan, from files to an Audit: the few calls in order."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from analyzer.alignment import align, place
from analyzer.alignment.discover import discover
from analyzer.alignment.naming import rows_of
from analyzer.checks import (
    CheckContext,
    apply_waivers,
    gather_facts,
    limits_used,
    read_rules,
    read_waivers,
    run_checks,
)
from analyzer.language import DEFAULT, Language, load_language, speaking
from analyzer.language.detect import AUTO, check_language, language_of
from analyzer.model.audit import Alignment, Audit
from analyzer.model.errors import MismatchError
from analyzer.model.plan import Plan
from analyzer.model.transcript import Transcript
from analyzer.plans import make_schedule, read_plan
from analyzer.plans.draft import draft
from analyzer.reports import write_folder
from analyzer.reports.steps import step_bytes
from analyzer.spotting import spot
from analyzer.spotting.context import SpotContext
from analyzer.spotting.options import weighed_by_place
from analyzer.spotting.vocabulary import listen
from analyzer.transcripts import parse_transcript, read_bytes, with_class_start

Step = TypeVar("Step")


def audit_recording(
    recording: Path,
    plan: Path | None = None,
    rules: Path | None = None,
    *,
    language: str = AUTO,
    starts_at_s: float | None = None,
    keep_steps: Path | None = None,
) -> Audit:
    """Return what the transcript in ``recording`` says about how the class in ``plan`` was delivered.

    Waivers kept beside the plan are honoured: see :func:`analyzer.checks.read_waivers`. Without a plan one is drawn
    from the recording itself; nothing is then checked against its lengths, rests and order.

    Parameters
    ----------
    rules : house rules that replace the built-in limits; None keeps those.
    language : code of the phrase data to listen with; "auto" lets the words tell, English where they don't.
    starts_at_s : where the class begins on the recording's clock, seconds; None lets the words tell.
    keep_steps : folder that gets what left each room as JSON, written as it leaves, so that the steps before a
        failure are there too.

    Raises
    ------
    AnalyzerError
        When there is no such language, when a file cannot be used (all readers name the file and the place), when plan
        and recording do not belong together, when nothing sounds like work where there is no plan, or when a step
        cannot be written.
    """
    asked = check_language(language)
    kept = _Keeper(keep_steps)
    house_rules = read_rules(rules)
    given = None if plan is None else read_plan(plan)
    waivers = () if plan is None else read_waivers(plan)
    read, code = _read_in(asked, recording)
    with speaking(code):
        transcript = with_class_start(read, starts_at_s)
        class_plan = kept("1-plan", given or _drawn_from(transcript, load_language(code)))
        kept("2-transcript", transcript)
        schedule = kept("3-schedule", make_schedule(class_plan))
        events = kept("4-events", spot(transcript, class_plan, load_language(code)))
        aligned = align if given else place
        alignment = kept("5-alignment", aligned(transcript, class_plan, schedule, events))
        events = replace(events, options=weighed_by_place(events.options, _work(alignment)))
        context = CheckContext(transcript, class_plan, schedule, events, alignment, house_rules)
        facts = kept("6-facts", gather_facts(context))
        findings, stale = apply_waivers(run_checks(context), waivers)
        kept("7-findings", findings)
    limits = limits_used(house_rules)
    return Audit(transcript, class_plan, schedule, events, alignment, facts, findings, limits, stale=stale)


def _work(alignment: Alignment) -> list[tuple[float, float]]:
    """Return when work was done, seconds."""
    return [(iv.start_s, iv.end_s) for iv in alignment.intervals if iv.start_s is not None and iv.end_s is not None]


def _drawn_from(transcript: Transcript, language: Language) -> Plan:
    """Draw a plan; once more without what turned out to be no work, so that what was said in it counts elsewhere."""
    moves, events = listen(transcript, language)
    found = discover(transcript, len(moves), events)
    span_s = (transcript.class_start_s, transcript.duration_s)
    context = SpotContext.of(transcript, Plan("", ()), language)
    for _ in range(2):
        rows, named = rows_of(found, events, moves, context)
        drawn = draft(Path(transcript.name).stem, rows, named, span_s)
        kept = {row.start_s for row in drawn.rows}
        found = tuple(stretch for stretch in found if stretch.start_s in kept)
    if not found:
        raise MismatchError(
            transcript.name,
            "",
            "nothing in what is said sounds like timed work",
            "the transcript of a class whose moves are named, counted or timed aloud",
        )
    return drawn.plan


def _read_in(asked: str, recording: Path) -> tuple[Transcript, str]:
    """Return the transcript and the language it is in; timed again when that is not the one it was first timed for.

    The file is read once: it may be a pipe, or change meanwhile.
    """
    code = DEFAULT if asked == AUTO else asked
    data = read_bytes(recording)
    with speaking(code):
        transcript = parse_transcript(data, recording.name)
    found = language_of(transcript.words.norm) if asked == AUTO else code
    if found != code:
        with speaking(found):
            transcript = parse_transcript(data, recording.name)
    return transcript, found


class _Keeper:
    """Hands a step's result on and, with a folder, writes it there first."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    def __call__(self, name: str, result: Step) -> Step:
        if self.folder is not None:
            write_folder(self.folder, {f"{name}.json": step_bytes(result)})
        return result
