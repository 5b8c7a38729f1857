"""Durations as coaches write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.plans.durations import parse_duration_s, print_duration


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("45", 45.0),
        ("45s", 45.0),
        ("45 s", 45.0),
        ("45.5s", 45.5),
        ("0s", 0.0),
        ("2m", 120.0),
        ("2 min", 120.0),
        ("2 Minutes", 120.0),
        ("1.5 min", 90.0),
        ("1m30s", 90.0),
        ("1 min 30 sec", 90.0),
        ("1h", 3600.0),
        ("1h5m", 3900.0),
        ("1 hour 2 minutes 3 seconds", 3723.0),
        ("1:30", 90.0),  # minutes and seconds, never hours and minutes
        ("1:02:03", 3723.0),
        ("20:00", 1200.0),
        ("1:30.5", 90.5),
        ("010", 10.0),  # no octal
        ("  45s  ", 45.0),
        ("90m", 5400.0),
    ],
)
def test_reads(text: str, seconds: float) -> None:
    assert parse_duration_s(text) == seconds


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is not a duration"),
        ("soon", "'soon' is not a duration"),
        ("-10s", "'-10s' is negative"),
        ("\u221210s", "is negative"),
        ("1m30", "is not a duration"),
        ("30s1m", "is not a duration"),
        ("1:90", "90 seconds; 0 to 59"),
        ("1:75:00", "75 minutes after the hours"),
        ("1:30 min", "is not a time"),
        ("nan", "is not a duration"),
        ("inf", "is not a duration"),
        ("1e3", "is not a duration"),
        ("1_000", "is not a duration"),
        ("4５s", "is not a duration"),
        ("45s 45s", "is not a duration"),
        ("9" * 300, r"'9{40}\.\.\.' is not a duration"),
    ],
)
def test_refuses(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        parse_duration_s(text)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0s"), (45, "45s"), (90, "1m30s"), (120, "2m"), (3600, "1h"), (3661.25, "1h1m1.25s"), (0.05, "0.05s")],
)
def test_prints(seconds: float, text: str) -> None:
    assert print_duration(seconds) == text


@given(st.integers(0, 24 * 3600 * 1000))
def test_what_is_printed_reads_back(ms: int) -> None:
    assert parse_duration_s(print_duration(ms / 1000)) == ms / 1000


@given(st.integers(0, 5999), st.integers(0, 59))
def test_the_clock_form_and_the_unit_form_agree(minutes: int, seconds: int) -> None:
    assert parse_duration_s(f"{minutes}:{seconds:02d}") == parse_duration_s(f"{minutes}m{seconds}s")


@given(st.text(max_size=60))
def test_any_text_reads_or_is_refused_in_one_line(text: str) -> None:
    told, seconds = "", 0.0
    try:
        seconds = parse_duration_s(text)
    except ValueError as error:
        told = str(error)
    assert seconds >= 0
    assert told == "" or told.startswith("'")
