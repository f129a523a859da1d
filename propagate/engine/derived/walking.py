"""How far a derived piece lies off its definition."""

from __future__ import annotations

import numpy as np

from propagate.engine.derived.dart_pleats import notches_off, pleat_said, pleats_on
from propagate.engine.derived.drawing import laid_on
from propagate.engine.derived.region import Region, region_of
from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, verdict_of
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import between, locate, measure_apart
from propagate.pattern.derived import Derived
from propagate.pattern.model import SizedPiece

__all__ = ["farthest_off", "walk_derived"]


def walk_derived(on: Walked, derived: Derived) -> list[Check]:
    """Walk a derived piece: how far it and its definition are apart at most."""
    region = region_of(on.pattern, derived, on.piece, on.size)
    piece = on.piece(derived.piece)
    laid = laid_on(derived, piece, region)
    off = farthest_off(piece, region, laid)
    sides = derived.piece, derived.of
    tolerance = derived.tolerance
    said = verdict_of(off, tolerance)
    what = " | ".join(sides)
    whole = Check("derived", derived.piece, what, 0.0, off, 0.0, off, tolerance, said, sides=sides)
    pleats = pleats_on(derived, region, on.pattern.relations.assemblies, piece, laid)
    checks = [whole]
    for one in pleats:  # from notch to notch, and how far they lie off the legs
        found = notches_off(one, piece, laid)
        apart, off = (0.0, one.take) if found is None else found
        what = pleat_said(one) + (", without its notches" if found is None else "")
        checks.append(
            Check(
                "derived",
                f"{derived.piece}, pleat at '{one.made.dart.name}'",
                what,
                one.take,
                apart,
                0.0,
                off,
                tolerance,
                "does not sew" if found is None else verdict_of(off, tolerance),
                relation=derived.piece,
                sides=(what, ""),
            )
        )
    return checks


def farthest_off(piece: SizedPiece, region: Region, laid: Motion) -> float:
    """Measure how far edges of a piece and what its definition says are apart at most, mm."""
    far = 0.0
    count = len(piece.edges)
    for i, line in enumerate(region.lines):
        if line is None:
            continue
        drawn = laid.apply(piece.edges[i].points)
        corners = region.corners[i], region.corners[(i + 1) % count]
        ends = [drawn[k] if c is None else c for k, c in zip((0, -1), corners, strict=True)]
        long = line.run_on(region.reach)
        along = [locate(long, end)[0] for end in ends]
        meant = between(long, along[0], along[1])
        off = (float(np.hypot(*gap)) for gap in (drawn[0] - ends[0], drawn[-1] - ends[1]))
        far = max(far, measure_apart(drawn, meant), *off)
    return far
