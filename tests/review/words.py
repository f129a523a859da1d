"""Words that name a kind of mistake: any of them will do.

The trade has no one word for most of these; whoever tells a mistake may choose.
"""

from __future__ import annotations

__all__ = ["either"]


def either(*words: str) -> str:
    """A pattern for any of the words."""
    return "|".join(words)


ALLOWANCE = "allowance"
TOLERANCE = "tolerance"
EASE = r"\beased?\b"
FOLD = r"\bfold"
PAIR = either(r"\bpair", "mirror", "both alike", "all alike", "two left", "two right")
EXCHANGED = either("exchange", "swap", "interchange", "mixed up", "wrong way round", "each other's")
AGAINST = either(
    "backwards",
    "revers",
    "other end",
    "same end",
    "opposite",
    "wrong way",
    "direction",
    "against",
    "turn (the run|it)",
    "from its (other )?end",
)
NOTHING = either(
    "sewn to nothing",
    "nothing is sewn",
    "not sewn",
    "no seam",
    "sewn nowhere",
    "left out",
    "no relation",
    "nothing (joins|holds|says)",
    "in no seam",
    "joined to nothing",
)
TWICE = either("twice", "two seams", "again", "also", "already", "more than one", "second time")
WRONG_EDGE = either("wrong edge", "another edge", "other edge", "wrong piece", "did you mean")
OUT_OF_LINE = either(
    "out of (the )?line",
    "out of step",
    "jump",
    r"\bstep",
    "neighbour",
    "does not grade",
    "unlike",
    "out of the nest",
    "where .* expected",
    "other sizes",
    "beside",
)
NOT_GRADED = either(
    r"same (as|in|drawing|length|measure)",
    r"\b(is|are) the same",
    "identical",
    r"\balike\b",
    r"\bcop(y|ied)\b",
    "not graded",
    "forgotten to grade",
    "no step",
    "does not grow",
    "equal",
)
MIRRORED = either("mirror", "other side up", "wrong side up", "face down", "turned over", "flipped")
INCHES = r"\binch"
CENTIMETRES = either("centimet", r"\bcm\b", "ten times", "a tenth")
GRAIN = r"\bgrain"
CHART = r"\bchart"
ORDER = either(r"\border", "smallest first", "sequence", "listed")
DART = r"\bdart"
CUT = either(r"\bcut\b", "pair", "once", "twice", "half", "how many")
UNITS = either(r"\binch", r"\bcentimet")
SIZES_MIXED = either(EXCHANGED, OUT_OF_LINE, "order", "smaller than", "larger than")
OFF = either("apart", "does not sew", "does not meet", OUT_OF_LINE, "longer", "shorter", "moved")
