"""One recording against one plan, from files to an Audit: the few calls in order."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from analyzer.alignment import align
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
from analyzer.plans import make_schedule, read_plan
from analyzer.reports import write_folder
from analyzer.reports.steps import step_bytes
from analyzer.spotting import spot
from analyzer.transcripts import parse_transcript, read_bytes

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
