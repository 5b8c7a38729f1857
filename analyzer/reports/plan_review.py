"""A plan's review as text for a terminal: totals, remarks, the source of every figure, cautions."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from analyzer.model.clock import clock
from analyzer.plans import PlanReview
from analyzer.plans.intensity import Estimate
from analyzer.plans.review_rules import Remark, guidance
from analyzer.reports.digest import PLAN_CAUTIONS
from analyzer.reports.plain import terminal_text

_WIDTH = 88


def review_text(title: str, review: PlanReview) -> str:
    """Return the review; every line at most 88 characters but for long words."""
    notes = _Notes()
    lines = [f"{terminal_text(title)}: {review.intervals} intervals, {clock(review.total_s)} in all"]
    for total in _totals(review, notes):
        lines += textwrap.wrap(terminal_text(total), _WIDTH, initial_indent="  ", subsequent_indent="    ")
    for head, remarks in (("To mend", review.to_mend), ("To look at", review.to_look_at)):
        if remarks:
            lines += ["", head, *(part for remark in remarks for part in _remark(remark, notes))]
    lines += [""] if review.to_mend else ["", "Nothing to mend.", ""]
    for number, source in enumerate(notes.sources, start=1):
        lines += textwrap.wrap(f"[{number}] {source}.", _WIDTH, subsequent_indent="    ")
    return "\n".join([*lines, "", *textwrap.wrap(" ".join(PLAN_CAUTIONS), _WIDTH)]) + "\n"


class _Notes:
    """Numbers sources in the order they are first named."""

    def __init__(self) -> None:
        self.sources: list[str] = []

    def mark(self, source: str) -> str:
        if source not in self.sources:
            self.sources.append(source)
        return f"[{self.sources.index(source) + 1}]"


def _totals(review: PlanReview, notes: _Notes) -> Iterator[str]:
    yield f"work {clock(review.work_s)}, rest {clock(review.rest_s)}, talk {clock(review.talk_s)}"
    if review.left_s or review.right_s:
        yield f"left side {clock(review.left_s)}, right side {clock(review.right_s)}"
    for kind, seconds in (("warm-up", review.warm_up_s), ("cool-down", review.cool_down_s)):
        bounds = guidance()[kind]
        published = f"published: {clock(bounds['low_s'])} to {clock(bounds['high_s'])} {notes.mark(bounds['source'])}"
        yield f"{kind} {clock(seconds)}, {_percent(seconds / review.total_s)} of the class; {published}"
    ratios = ", ".join(f"{block.name} {_ratio(block.work_s, block.rest_s)}" for block in review.blocks)
    yield f"work to rest: {ratios}"
    speech = review.speech
    busiest = f"; most in {speech.busiest}: {speech.busiest_wpm:.0f} words a minute" if speech.busiest else ""
    rate = notes.mark(guidance()["speaking"]["source"])
    yield f"cues, options, calls and previews: {speech.words} words{busiest} {rate}"
    if review.intensity is not None:
        yield _estimate(review.intensity, notes)


def _estimate(guess: Estimate, notes: _Notes) -> str:
    values = ", ".join(f"{name} {mets:g}" for name, mets in guess.values)
    text = f"estimate of intensity in METs, for adults in general {notes.mark(guess.source)}: {values}"
    covered = f"{_percent(guess.share)} of the work"
    if guess.level is None:
        return f"{text}; that is {covered}, too little for a mean"
    levels = notes.mark(guidance()["effort"]["source"])
    return f"{text}; their mean, over {covered}: {guess.mets:.1f}, {guess.level} {levels}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _ratio(work_s: float, rest_s: float) -> str:
    return f"{work_s / rest_s:.1f}:1" if rest_s else "no rest"


def _remark(remark: Remark, notes: _Notes) -> list[str]:
    place = f"{remark.place}: " if remark.place else ""
    text = f"{terminal_text(place + remark.message)} {notes.mark(remark.source)}"
    return textwrap.wrap(text, _WIDTH, initial_indent="- ", subsequent_indent="  ")
