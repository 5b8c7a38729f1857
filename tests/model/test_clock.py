from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.model.clock import MAX_MS, clock, parse_clock_ms

GOOD = {
    "0:00": 0,
    "1:01": 61_000,
    "01:01": 61_000,
    "00:01:01": 61_000,
    "75:00": 4_500_000,
    "1:15:00": 4_500_000,
    "0:01.5": 1_500,
    "0:01.05": 1_050,
    "0:01,500": 1_500,
    "00:00:01.4999": 1_499,
    " 1:01 ": 61_000,
    "100:00:00": MAX_MS,
}
BAD = {
    "1:75": "75 seconds",
    "1:75:00": "75 minutes",
    "100:00:01": "beyond 100 hours",
    "61": "not a time",
    "": "not a time",
    "1:01:01:01": "not a time",
    "-1:01": "not a time",
    "1:٣٠": "not a time",
    "1:01.": "not a time",
    "9" * 5000 + ":00": "not a time",
}


@pytest.mark.parametrize("text", GOOD)
def test_stamps(text):
    assert parse_clock_ms(text) == GOOD[text]


@pytest.mark.parametrize("text", BAD)
def test_what_is_no_stamp(text):
    with pytest.raises(ValueError, match=BAD[text]):
        parse_clock_ms(text)


@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59), st.integers(0, 999), st.sampled_from(".,"))
def test_every_way_to_write_a_time_reads_the_same(hours, minutes, seconds, ms, mark):
    expected = ((hours * 60 + minutes) * 60 + seconds) * 1000 + ms
    assert parse_clock_ms(f"{hours}:{minutes:02d}:{seconds:02d}{mark}{ms:03d}") == expected
    assert parse_clock_ms(f"{hours * 60 + minutes}:{seconds:02d}{mark}{ms:03d}") == expected


@given(st.integers(0, MAX_MS // 1000))
def test_a_printed_time_reads_back(seconds):
    assert parse_clock_ms(clock(seconds)) == seconds * 1000


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(None, "—"), (0.4, "0:00"), (59.5, "1:00"), (751.2, "12:31"), (3723, "1:02:03"), (-1, "0:00")],
)
def test_as_a_player_shows_it(seconds, shown):
    assert clock(seconds) == shown
