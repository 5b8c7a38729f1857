"""Which language is being listened to, for what is asked too often to be told each time (stems, sounds, syllables).

The step that starts an audit names it once; everything below asks. Whoever names none listens in ``DEFAULT``.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

DEFAULT = "en"
"""Code of the language that is taken where nothing tells another."""
_CURRENT: ContextVar[str] = ContextVar("language", default=DEFAULT)


def current_language() -> str:
    """Return the code of the language that is being listened to."""
    return _CURRENT.get()


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Listen in this language inside the ``with`` block; an unknown code fails where its data is first asked for."""
    before = _CURRENT.set(code)
    try:
        yield
    finally:
        _CURRENT.reset(before)
