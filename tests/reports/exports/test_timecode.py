import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio.opentime import RationalTime, from_timecode
from timecode import Timecode

from analyzer.reports.exports.timecode import RATES, frame_at, parse_timecode, timecode

# Worked values of 29.97 drop-frame after SMPTE ST 12-1, as public glossaries and film archives give them: two labels
# left out a minute but each tenth, so 17982 frames in ten minutes and 107892 in an hour.
DROP = [
    (0, "00:00:00;00"),
    (1799, "00:00:59;29"),
    (1800, "00:01:00;02"),
    (3597, "00:01:59;29"),
    (3598, "00:02:00;02"),
    (16184, "00:09:00;02"),
    (17981, "00:09:59;29"),
    (17982, "00:10:00;00"),
    (19782, "00:11:00;02"),
    (107892, "01:00:00;00"),
    (2589407, "23:59:59;29"),
]


@pytest.mark.parametrize(("frame", "label"), DROP)
def test_drop_frame_labels(frame, label):
    rate = RATES["29.97df"]
    assert timecode(frame, rate) == label
    assert parse_timecode(label, rate) == frame
    assert parse_timecode(label.replace(";", ":"), rate) == frame


def test_drop_frame_keeps_near_the_clock_and_non_drop_runs_away():
    hour = RATES["29.97df"]
    assert parse_timecode("01:00:00;00", hour) / hour.fps == pytest.approx(3599.9964, abs=1e-4)
    hour = RATES["29.97"]
    assert parse_timecode("01:00:00:00", hour) / hour.fps == pytest.approx(3603.6, abs=1e-6)


def test_twice_the_rate_leaves_out_twice_the_labels():
    rate = RATES["59.94df"]
    assert [timecode(n, rate) for n in (3599, 3600, 35964)] == ["00:00:59;59", "00:01:00;04", "00:10:00;00"]


@pytest.mark.parametrize("name", RATES)
@given(share=st.floats(0, 1, exclude_max=True))
def test_labels_and_frames_are_one_to_one(name, share):
    rate = RATES[name]
    frame = int(share * rate.frames_a_day)
    assert parse_timecode(timecode(frame, rate), rate) == frame


@pytest.mark.parametrize("name", RATES)
@given(frame=st.integers(0, 1_000_000))
def test_two_libraries_agree(name, frame):
    rate = RATES[name]
    label = timecode(frame, rate)
    assert RationalTime(frame, rate.fps).to_timecode(rate.fps, drop_frame=rate.drop) == label
    if rate.drop or rate.bottom == 1:  # the library takes every label at a broken rate for a drop-frame one
        assert from_timecode(label, rate.fps) == RationalTime(frame, rate.fps)
    other = Timecode(name.removesuffix("df"), frames=frame + 1, force_non_drop_frame=not rate.drop)  # counts from 1
    assert str(other) == label


@pytest.mark.parametrize(
    ("seconds", "name", "frame"),
    [(60.06, "29.97", 1800), (60.06, "23.976", 1440), (60, "24", 1440), (60, "25", 1500), (60, "60", 3600),
     (12.34, "25", 309), (0.019, "25", 0), (0.02, "25", 1), (0.0, "50", 0)],
)  # fmt: skip
def test_the_nearest_frame(seconds, name, frame):
    assert frame_at(seconds, RATES[name]) == frame


@pytest.mark.parametrize("name", RATES)
@given(seconds=st.integers(0, 36_000_000).map(lambda ms: ms / 1000))
def test_a_frame_is_never_further_than_half_a_frame(name, seconds):
    rate = RATES[name]
    assert abs(frame_at(seconds, rate) / rate.fps - seconds) <= 0.5 / rate.fps + 1e-9


@pytest.mark.parametrize(
    ("label", "name", "told"),
    [
        ("1:00:00:00", "25", "is not a timecode"),
        ("24:00:00:00", "25", "is not a timecode"),
        ("00:60:00:00", "25", "is not a timecode"),
        ("٠١:00:00:00", "25", "is not a timecode"),
        ("00:00:00:25", "25", "has frame 25; 00 to 24"),
        ("00:00:00;10", "29.97", "is drop-frame"),
        ("00:01:00;00", "29.97df", "leaves out"),
        ("00:09:00;01", "29.97df", "leaves out"),
        ("00:01:00;03", "59.94df", "leaves out"),
    ],
)
def test_what_is_no_label(label, name, told):
    with pytest.raises(ValueError, match=told):
        parse_timecode(label, RATES[name])


@pytest.mark.parametrize("frame", [-1, 24 * 3600 * 25])
def test_a_day_has_no_further_labels(frame):
    with pytest.raises(ValueError, match="no label within 24 hours"):
        timecode(frame, RATES["25"])
