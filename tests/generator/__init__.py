"""Takes a seed. Gives an invented class with its truth, and its recording in many forms. Never reads a recording."""

from tests.generator.classes import STYLES, GeneratedClass
from tests.generator.forms import FORMS, write_case
from tests.generator.generate import TIMINGS, generate
from tests.generator.plans import SHAPES

__all__ = ["FORMS", "SHAPES", "STYLES", "TIMINGS", "GeneratedClass", "generate", "write_case"]
