"""Markers as files: a table, a CMX 3600 edit list, and whatever forms OpenTimelineIO can write.

The edit list is written here, since its adapter writes every broken frame rate as drop-frame, starts each list at
zero and does not say which counting it used. All others are the library's: its own form, and that of any adapter
installed beside it. What an adapter wrote is read back at once, as some forms hold no markers.
"""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import Any

from analyzer.model.errors import OutputError
from analyzer.reports.exports.markers import MarkerList
from analyzer.reports.plain import rounded
from analyzer.reports.tables import table_bytes

OWN_FORMS = ("csv", "edl", "otio")
COLUMNS = ("timecode", "until", "frame", "until_frame", "at", "level", "colour", "name", "note")
_NEEDS = "install it with pip install opentimelineio; csv and edl do without"
_REEL = re.compile(r"[^A-Z0-9]")


def marker_bytes(markers: MarkerList, form: str) -> bytes:
    """Return a file of markers: ``csv``, ``edl``, ``otio``, or the file ending of an installed adapter.

    Raises
    ------
    OutputError
        When there is no such form, OpenTimelineIO is not installed, or the form holds no markers.
    """
    if form == "csv":
        return _table(markers)
    if form == "edl":
        return edit_list(markers).encode("utf-8")
    return _by_library(markers, form)


def _table(markers: MarkerList) -> bytes:
    rows = (
        (
            markers.label(m.first),
            markers.label(m.last),
            m.first,
            m.last,
            rounded(m.at_s),
            m.level,
            m.colour,
            m.name,
            m.note,
        )
        for m in markers.markers
    )
    return table_bytes(COLUMNS, (dict(zip(COLUMNS, row, strict=True)) for row in rows))


def edit_list(markers: MarkerList) -> str:
    """Return a CMX 3600 edit list: the recording as one event, each marker as a locator at its record timecode."""
    first, last = markers.label(0), markers.label(markers.length)
    reel = _REEL.sub("", PurePath(markers.recording).stem.upper())[:8] or "CLASS"
    lines = [
        f"TITLE: {markers.title}",
        f"FCM: {'DROP FRAME' if markers.rate.drop else 'NON-DROP FRAME'}",
        "",
        f"001  {reel:<8} V     C        {first} {last} {first} {last}",
        f"* FROM CLIP NAME:  {markers.recording}",
    ]
    lines += [f"* LOC: {markers.label(m.first)} {m.colour:<7} {m.line}" for m in markers.markers]
    return "".join(f"{line}\r\n" for line in lines)


def timeline(markers: MarkerList, notes: bool = True) -> Any:
    """Return an OpenTimelineIO timeline: one clip on one video track, with the markers in the recording's timecode.

    Without ``notes`` a marker's name says it all, since not all adapters write the comment of a marker.
    """
    otio = _library()
    fps = markers.rate.fps

    def span(first: int, frames: int) -> Any:
        return otio.opentime.TimeRange(otio.opentime.RationalTime(first, fps), otio.opentime.RationalTime(frames, fps))

    whole = span(markers.start, markers.length)
    clip = otio.schema.Clip(
        name=markers.recording,
        source_range=whole,
        media_reference=otio.schema.MissingReference(name=markers.recording, available_range=whole),
    )
    for m in markers.markers:
        clip.markers.append(
            otio.schema.Marker(
                name=m.name if notes else m.line,
                marked_range=span(markers.start + m.first, m.last - m.first),
                color=m.colour,
                comment=m.note if notes else "",
                metadata={"class_analyzer": {"level": m.level}},
            )
        )
    track = otio.schema.Track(name="Recording", kind=otio.schema.TrackKind.Video, children=[clip])
    made = otio.schema.Timeline(name=markers.title, global_start_time=whole.start_time)
    made.metadata["class_analyzer"] = {"frame_rate": markers.rate.name, "drop_frame": markers.rate.drop}
    made.tracks.append(track)
    return made


def _by_library(markers: MarkerList, form: str) -> bytes:
    otio = _library()
    ones = otio.adapters.suffixes_with_defined_adapters(read=True, write=True) - {"otiod", "otioz"}  # media bundles
    if form not in ones:
        allowed = f"allowed: {', '.join(sorted(ones | set(OWN_FORMS)))}; other OpenTimelineIO adapters add theirs"
        raise OutputError(place="--form", found=f"there is no form '{form}'", allowed=allowed)
    adapter = otio.adapters.from_filepath(f"markers.{form}")
    try:
        text = adapter.write_to_string(timeline(markers, notes=form == "otio"))
        kept = adapter.read_from_string(text).find_clips()
    except Exception as error:  # adapters raise whatever they hit
        found = f"the adapter for {form} cannot write markers ({type(error).__name__}: {error})"
        raise OutputError(place="--form", found=found, allowed=f"use one of: {', '.join(OWN_FORMS)}") from error
    back = sum(len(clip.markers) for clip in kept)
    if back != len(markers.markers):
        found = f"the form {form} keeps {back} of {len(markers.markers)} markers"
        raise OutputError(place="--form", found=found, allowed=f"use one of: {', '.join(OWN_FORMS)}")
    return str(text).encode("utf-8")


def _library() -> Any:
    try:
        import opentimelineio  # an extra, and slow to import
    except ImportError as error:
        raise OutputError("OpenTimelineIO", found="is not installed", allowed=_NEEDS) from error
    return opentimelineio
