"""The curve tolerance that a DXF states for itself."""

from __future__ import annotations

from propagate.io.dxf.entities import number
from propagate.io.dxf.texts import keyword
from propagate.io.origin import origin_of
from propagate.pattern.patternset import PatternSet

__all__ = ["curve_tolerance"]


def curve_tolerance(pattern: PatternSet) -> float | None:
    """How far the lines of a drawing may lie from the curves that they stand for, mm.

    The widest that any drawing states from which pieces of the set were read; None when
    none states a number above zero.
    """
    found = [_stated(source.data) * source.unit_mm for source in origin_of(pattern).sources]
    widest = max(found, default=0.0)
    return widest if widest > 0 else None


def _stated(data: bytes) -> float:
    """The number after "Curve Tolerance:", in units of the file; 0 when there is none."""
    for line in data.decode("latin-1").splitlines():
        pair = keyword(line.strip()) if "olerance" in line or "OLERANCE" in line else None
        if pair is not None and pair[0] == "curve tolerance":
            try:
                return number(pair[1].split()[0])
            except (ValueError, IndexError):
                return 0.0  # the reader warns of it
    return 0.0
