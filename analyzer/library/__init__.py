"""Takes many Audits. Gives what they say together: takes of one plan side by side. Never audits or judges anew."""

from analyzer.library.compare import Comparison, compare_takes
from analyzer.library.compare_text import comparison_text

__all__ = ["Comparison", "compare_takes", "comparison_text"]
