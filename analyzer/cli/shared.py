"""Arguments and options that several commands take, written once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analyzer.model.errors import OutputError

Recording = Annotated[Path, typer.Argument(help="The class's captions or transcript, in any usual form.")]
Spoken = Annotated[
    str, typer.Option("--language", help="Language that is spoken: a code, or auto to tell it from the words.")
]
StartsAt = Annotated[
    str, typer.Option("--starts-at", help="Where the class begins in the recording, such as 0:35; else it is heard.")
]


def seconds_of(starts_at: str) -> float | None:
    """Return a time given on the command line in seconds, None where none was. Raises OutputError for no time."""
    from analyzer.plans import parse_duration_s

    if not starts_at:
        return None
    try:
        return parse_duration_s(starts_at)
    except ValueError as error:
        raise OutputError(place="--starts-at", found=str(error), allowed="a time such as 0:35 or 1:00:00") from None
