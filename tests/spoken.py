"""A small class told from start to end, for what works without a plan."""

from __future__ import annotations

from analyzer.model.transcript import Transcript
from tests.factory import transcript_from

NAMES = ("squat", "push up", "wobbly stool")
"""The last is no usual name: only the way it is announced tells it."""
STARTS_S = (40.0, 100.0, 160.0, 240.0, 300.0, 360.0)
WORK_S = 40.0


def told(names: tuple[str, ...] = NAMES) -> list[tuple[float, str]]:
    """Return the sentences of two rounds of these moves, 40 s of work and 20 s of rest each."""
    said = [(2.0, "Hello and welcome to the class."), (8.0, "Two rounds of three moves today.")]
    for at, start_s in enumerate(STARTS_S):
        name = names[at % len(names)]
        said += [
            (start_s - 12.0, f"Next up, the {name}."),
            (start_s - 4.0, "Three."),
            (start_s - 3.0, "Two."),
            (start_s - 2.0, "One."),
            (start_s - 0.5, "Go!"),
            (start_s + 2.0, f"{name.capitalize()}, nice and steady."),
            (start_s + 15.0, "Keep breathing all the way through."),
            (start_s + 30.0, "Ten seconds left."),
            (start_s + 36.0, "Three."),
            (start_s + 37.0, "Two."),
            (start_s + 38.0, "One."),
            (start_s + 40.0, "And rest."),
        ]
        if at == 2:
            said.append((225.0, "That was round one, here comes round two."))
    return [*sorted(said), (420.0, "Well done, see you next time.")]


def spoken_class(names: tuple[str, ...] = NAMES) -> Transcript:
    """Return the same as a transcript at word grain."""
    return transcript_from(told(names))


def as_vtt(names: tuple[str, ...] = NAMES) -> str:
    """Return the same as WebVTT, a cue a sentence."""

    def stamp(seconds: float) -> str:
        return f"{int(seconds) // 60:02}:{seconds % 60:06.3f}"

    cues = [f"{stamp(at)} --> {stamp(at + 0.35 * len(text.split()))}\n{text}\n" for at, text in told(names)]
    return "WEBVTT\n\n" + "\n".join(cues)
