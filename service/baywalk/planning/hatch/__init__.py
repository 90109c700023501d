"""The best place for a new opening within a zone: fewest joists cut, then least work and timber.

``zone`` (where it may lie), ``room`` (every place that nothing forbids), ``around`` (what forbids),
``places`` (the best for each choice of joists to cut, weighed), ``words`` (how they compare).
"""

from baywalk.planning.hatch.tries import Try, tries

__all__ = ["Try", "tries"]
