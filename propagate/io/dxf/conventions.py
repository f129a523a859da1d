"""What the interchange standard and its senders agree on, in one table.

Every value here is from memory unless a comment says otherwise; where a sender's
document says something else, this is the one place to correct.  The standard meant is
ASTM D6673 (2004 and 2010 editions) and its parent ANSI/AAMA-292.
"""

from __future__ import annotations

import re
from typing import Final

__all__: list[str] = []

# ------------------------------------------------------------------ layers (from memory)


class Layer:
    """Names of layers."""

    BOUNDARY: Final = "1"  # from memory: cut line; also style and piece text
    TURN: Final = "2"  # from memory: turn points of the lines on 1, 8, 11, 14
    CURVE: Final = "3"  # from memory: curve points of the same lines
    NOTCH: Final = "4"  # from memory: V and slit notches
    GRADE_LINE: Final = "5"  # from memory: grade reference line, then the alternate one
    MIRROR: Final = "6"  # from memory: mirror (fold) line
    GRAIN: Final = "7"  # from memory
    INTERNAL: Final = "8"  # from memory: drawn, not cut
    STRIPE: Final = "9"  # from memory
    PLAID: Final = "10"  # from memory
    CUT_OUT: Final = "11"  # from memory: inside the piece and cut
    DRILL: Final = "13"  # from memory
    SEW: Final = "14"  # from memory: the seam line
    ANNOTATION: Final = "15"  # from memory


NOTCH_NAMES: Final = {  # from memory: layer to the word in the landmark's name
    Layer.NOTCH: "notch",
    "80": "t_notch",
    "81": "castle_notch",
    "82": "check_notch",
    "83": "u_notch",
}
VALIDATION: Final = {  # from memory: layer to that of its quality-validation curves
    Layer.BOUNDARY: "84",
    Layer.INTERNAL: "85",
    Layer.CUT_OUT: "86",
    Layer.SEW: "87",
}
LAYERS: Final = (
    Layer.BOUNDARY, Layer.TURN, Layer.CURVE, *NOTCH_NAMES, Layer.GRADE_LINE, Layer.MIRROR,
    Layer.GRAIN, Layer.INTERNAL, Layer.CUT_OUT, Layer.DRILL, Layer.SEW, Layer.ANNOTATION,
    *VALIDATION.values(),
)  # fmt: skip
"""All that a set has a place for."""
NO_PLACE: Final = {  # from memory: known, but a set has no place for them
    Layer.STRIPE: "stripe reference",
    Layer.PLAID: "plaid reference",
}

# ------------------------------------------------------------- system text (from memory)
SYSTEM_TEXT: Final = re.compile(  # what holds blanks gives none back: they may be many
    r"\s*+([A-Za-z](?:[A-Za-z _/]*[A-Za-z_/])?)\s*+:\s*+(.*\S|)\s*", re.DOTALL
)
STYLE_WORDS: Final = (  # from memory
    "style name",
    "creation date",
    "creation time",
    "author",
    "sample size",
    "grade rule table",
    "units",
    "curve tolerance",
)
PIECE_WORDS: Final = (  # from memory
    "piece name",
    "size",
    "quantity",
    "category",
    "material",
    "annotation",
    "rotation",
    "flip",
    "tilt",
    "fold",
)
VERSION_WORDS: Final = ("astm/d13", "ansi/aama", "aama")  # from memory: begin the version line
VERSION_LINE: Final = "ASTM/D13Proposal 1 Version: D 6673-04"  # from memory
METRIC: Final = "metric"  # from memory: millimetres, to some senders centimetres
ENGLISH: Final = "english"  # from memory: inches
RULE_NUMBER: Final = re.compile(r"\s*#\s*(\d+)\s*")  # from memory: "# 12" on a point
BLOCKS_OF_OTHERS: Final = ("*", "$")  # from memory: layout blocks, not pieces
GRADED_LAYERS: Final = (Layer.TURN, Layer.CURVE, *NOTCH_NAMES, Layer.DRILL)  # from memory

# --------------------------------------------------------------- rule file (from memory)
RULE_WORDS: Final = {  # from memory
    "units": "UNITS",
    "table": "GRADE RULE TABLE",
    "count": "NUMBER OF SIZES",
    "sizes": "SIZE LIST",
    "sample": "SAMPLE SIZE",
    "author": "AUTHOR",
    "date": "CREATION DATE",
    "time": "CREATION TIME",
}
RULE_HEAD: Final = re.compile(  # from memory
    r"\s*+RULE\s*+(?::\s*+)?DELTA\s++(\S+)\s*+(.*)", re.IGNORECASE
)
RULE_END: Final = "END"  # from memory
RULE_SUFFIXES: Final = (".rul", ".RUL", ".Rul")  # from memory

# ------------------------------------------------------------------------ tolerances, mm
REAL_EDGE_MM: Final = 0.05
"""A last point nearer to the first than this repeats it; a longer chord is drawn."""
SEAM_SHARE: Final = 0.3
"""A closed line on the sew layer of at least this share of the piece's area is the seam line."""
CORNER_DEG: Final = 10.0
"""Where no turn points are given, a vertex that turns by more is a corner (ours)."""
RULES_HOLD_MM: Final = 0.01
"""Grade rules are written only where they reproduce each size within this."""
USUAL_PIECE_MM: Final = (200.0, 2500.0)
"""The largest piece of a style is usually within these (trouser leg 900 to 1200 mm)."""
CENTIMETRES_BELOW_MM: Final = 150.0
"""A METRIC style whose largest piece measures less is taken to be in centimetres (ours)."""

# ------------------------------------------------------------------ limits of what is read
MAX_BYTES: Final = 80_000_000
MAX_LINES: Final = 8_000_000
MAX_CUT_OFF_LINES: Final = 3_000_000
"""A file that is cut off is read twice."""
MAX_RECOVER_LINES: Final = 300_000
"""The recovery reader of ezdxf is slower and takes more memory for each line."""
MAX_BLOCKS: Final = 5_000
MAX_ENTITIES: Final = 800_000
"""Vertices of polylines counted."""
MAX_SHAPES: Final = 600_000
MAX_TEXTS: Final = 150_000
MAX_DRAWN_LINES: Final = 100_000
MAX_GRADED: Final = 2_500_000
"""Vertices, points and texts of graded blocks times the sizes of the rule table."""
MAX_DRAWINGS: Final = 5_000
"""Pieces times sizes."""
MAX_DEPTH: Final = 8
MAX_SIZES: Final = 200
MAX_RULES: Final = 100_000
MAX_PAIRS: Final = 1_000_000
"""Rules times sizes."""
