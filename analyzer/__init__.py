"""Recorded-class analyzer: times every interval of a filmed class and checks it against its plan.

Takes a transcript and a class plan. Gives an :class:`~analyzer.model.audit.Audit`.
Import the step you need from its room; this package itself imports nothing heavy.
"""

__version__ = "0.1.0"
