"""Takes many classes. Gives what they say together: takes of one plan side by side, a whole library audited and stored.
Never judges anew.
"""

from analyzer.library.compare import Comparison, compare_takes
from analyzer.library.compare_text import comparison_text

__all__ = ["Comparison", "compare_takes", "comparison_text"]
