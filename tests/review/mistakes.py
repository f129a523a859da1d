"""A hundred mistakes that people make in pattern sets.

They are what patternmakers, graders and teachers do wrong (common practice, no source):
a unit forgotten, a value in the wrong row, a size copied and not graded, a seam written from
the wrong end, a notch moved in one size.  The amounts go from the obvious to the small but
clearly outside of what the trade does.
"""

from __future__ import annotations

from tests.review.judge import Mistake
from tests.review.mistakes_drawn import DRAWN
from tests.review.mistakes_joined import JOINED
from tests.review.mistakes_said import SAID

__all__ = ["MISTAKES"]

MISTAKES: tuple[Mistake, ...] = (*SAID, *JOINED, *DRAWN)
