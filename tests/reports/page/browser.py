"""What the browser tests share: where Chromium is, and a take to pick, made on the spot."""

import io
import os
import shutil
import wave

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def chromium():
    """Return the browser's path; skips without one, or fails where the surroundings promise one."""
    found = next((path for path in map(shutil.which, NAMES) if path), None)
    if found is None and os.environ.get("CLASS_ANALYZER_BROWSER_TESTS") == "required":
        pytest.fail(f"none of {', '.join(NAMES)} is installed, and this run must have one")
    if found is None:
        pytest.skip(f"none of {', '.join(NAMES)} is installed")
    return found


def video_bytes(seconds):
    """Return a WebM video (VP8, 64 by 48 pixels, one picture a second) that long, all of it grey."""
    import av
    import numpy as np

    made = io.BytesIO()
    with av.open(made, "w", format="webm") as container:
        stream = container.add_stream("libvpx", rate=1)
        stream.width, stream.height, stream.pix_fmt, stream.gop_size = 64, 48, "yuv420p", 10
        grey = np.full((48, 64, 3), 128, dtype=np.uint8)
        for number in range(seconds):
            frame = av.VideoFrame.from_ndarray(grey, format="rgb24")
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return made.getvalue()


def sound_bytes(seconds, rate=8000):
    """Return a WAV file of silence, 8 bit, that long."""
    made = io.BytesIO()
    with wave.open(made, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(rate)
        out.writeframes(b"\x80" * rate * seconds)
    return made.getvalue()
