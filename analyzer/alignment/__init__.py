"""Takes a transcript, a plan with its schedule, and the events heard. Gives an Alignment: where each planned interval
was worked, how sure that is, and what was missing or extra. Never reads files, never judges against limits."""

from analyzer.alignment.align import align, place

__all__ = ["align", "place"]
