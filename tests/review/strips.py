"""Rectangles in as many sizes as a test asks for, with a notch, a dart, a level and a drill mark.

  top (from right to left)
+--------\\  /----------+
|         \\/  tip      |         width: that of the size
|   x drill            |         height: 100 mm
+-----|----------------+
  notch at 40 from the left
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.run import review
from propagate.pattern.grain import Grain
from propagate.pattern.model import Dart, Edge, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Girth, PieceInfo, Seam, parse_run
from tests.builders import edge

HEIGHT = 100.0


def strip(
    width: float,
    *,
    notch: float = 40.0,
    intake: float = 20.0,
    tip: tuple[float, float] | None = None,
    level: float = 60.0,
    drill: tuple[float, float] = (30.0, 30.0),
) -> SizedPiece:
    """Return one size: the dart's mouth lies about the middle of the top, 50 mm deep."""
    middle = width / 2
    return SizedPiece(
        edges=(
            edge("low", (0.0, 0.0), (width, 0.0)),
            edge("right", (width, 0.0), (width, HEIGHT)),
            edge("top", (width, HEIGHT), (0.0, HEIGHT)),
            edge("left", (0.0, HEIGHT), (0.0, 0.0)),
        ),
        landmarks=(
            Landmark("notch", "low", (notch, 0.0), "notch"),
            Landmark("leg_right", "top", (middle + intake / 2, HEIGHT), "dart leg"),
            Landmark("leg_left", "top", (middle - intake / 2, HEIGHT), "dart leg"),
        ),
        darts=(Dart("dart", "top", ("leg_right", "leg_left"), tip or (middle, HEIGHT - 50.0)),),
        drills=(Mark("hole", drill),),
        grain=Grain((10.0, 10.0), (10.0, 90.0)),
        levels={"hip": (0.0, level)},
    )


def strip_set(nest: Sequence[SizedPiece], name: str = "strip") -> PatternSet:
    """Return a set of one piece; the sizes are S0, S1 and so on."""
    sizes = tuple(f"S{i}" for i in range(len(nest)))
    return PatternSet(
        name="strips",
        sizes=sizes,
        base=sizes[len(sizes) // 2],
        lay_on="hip",
        pieces={name: Piece(name, dict(zip(sizes, nest, strict=True)))},
        info={name: PieceInfo(name, allowance=Allowance(10.0))},
    )


def widths(*values: float) -> PatternSet:
    """Return a set of strips that differ in width alone."""
    return strip_set([strip(value) for value in values])


def turned(sized: SizedPiece, degrees: float, *, with_grain: bool) -> SizedPiece:
    """Return a piece turned about the origin; its grain line only `with_grain`."""
    angle = math.radians(degrees)
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    return moved(sized, turn, with_grain=with_grain)


def scaled(sized: SizedPiece, by: float) -> SizedPiece:
    """Return a piece in another scale."""
    return moved(sized, np.eye(2) * by, with_grain=True)


def moved(sized: SizedPiece, matrix: np.ndarray, *, with_grain: bool) -> SizedPiece:
    """Return a piece with a matrix applied to all of its points."""

    def of(point: tuple[float, float]) -> tuple[float, float]:
        x, y = np.asarray(point) @ matrix
        return float(x), float(y)

    grain = sized.grain
    return replace(
        sized,
        edges=tuple(Edge(e.name, e.points @ matrix) for e in sized.edges),
        landmarks=tuple(replace(mark, point=of(mark.point)) for mark in sized.landmarks),
        darts=tuple(replace(dart, tip=of(dart.tip)) for dart in sized.darts),
        drills=tuple(replace(mark, point=of(mark.point)) for mark in sized.drills),
        levels={name: of(point) for name, point in sized.levels.items()},
        grain=Grain(of(grain.start), of(grain.end)) if with_grain else grain,
    )


def sewn(pattern: PatternSet, **values: object) -> PatternSet:
    """Return the set with its strip's right side sewn to its left."""
    seam = Seam("join", parse_run("strip.right"), parse_run("strip.left reversed"))
    changed = replace(seam, **values)  # type: ignore[arg-type]
    return replace(pattern, relations=replace(pattern.relations, seams={"join": changed}))


def on_body(pattern: PatternSet, rows: Mapping[str, Sequence[float]], times: int = 2) -> PatternSet:
    """Return the set with a chart, its row 'hip' compared with the strip's low edge."""
    chart = {name: dict(zip(pattern.sizes, values, strict=True)) for name, values in rows.items()}
    girth = Girth("hip", runs=(parse_run("strip.low"),), times=times, chart="hip")
    return replace(pattern, chart=chart, relations=Relations(girths={"hip": girth}))


def rules(pattern: PatternSet) -> list[str]:
    """Return the rules that found something, in order."""
    return [finding.rule for finding in review(pattern)]


def only(pattern: PatternSet) -> Finding:
    """Return the only finding."""
    findings = review(pattern)
    assert len(findings) == 1, findings
    return findings[0]
