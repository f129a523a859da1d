"""Darts that cannot be sewn as they are drawn, or that jump from size to size."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.review.finding import Finding
from propagate.engine.review.line import expected_beside, median, out_of_line
from propagate.engine.review.units import unit_of_ratio
from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.names import quote_names
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import DART_LEGS_LOOK_MM, DART_LEGS_MM, ON_LINE_MM, OUT_OF_LINE_MM

__all__ = ["review_darts"]

Array = npt.NDArray[np.float64]


def review_darts(pattern: PatternSet) -> Iterator[Finding]:
    """Look at every dart of every size: its tip, its legs, its width, and across the sizes."""
    for piece in pattern.pieces.values():
        nest = [piece.at(size) for size in pattern.sizes]
        named = [{dart.name: dart for dart in sized.darts} for sized in nest]
        for name in named[0]:
            yield from _review_dart(pattern, piece.name, nest, [own[name] for own in named])


def _review_dart(
    pattern: PatternSet, piece: str, nest: Sequence[SizedPiece], drawn: Sequence[Dart]
) -> Iterator[Finding]:
    sizes = list(zip(nest, drawn, strict=True))
    legs = np.array([[sized.landmark(leg).point for leg in dart.legs] for sized, dart in sizes])
    tips = np.array([dart.tip for dart in drawn])
    lengths = np.hypot(*np.moveaxis(legs - tips[:, None], 2, 0))  # (n, 2)
    mouth = np.hypot(*(legs[:, 1] - legs[:, 0]).T)
    depth = np.hypot(*(legs.mean(axis=1) - tips).T)
    faulty: dict[int, Finding] = {}
    for at, size in enumerate(pattern.sizes):
        place = f"piece '{piece}', size '{size}', dart '{drawn[at].name}'"
        found = _judge_drawing(
            piece, place, nest[at], drawn[at], lengths[at], float(mouth[at]), float(depth[at])
        )
        for finding in found:
            faulty.setdefault(at, finding)  # what is told first is the reason of the rest
    yield from _tell_once(pattern, piece, drawn[0].name, faulty)
    along = np.array(
        [[sized.landmark_distances[leg] for leg in dart.legs] for sized, dart in sizes]
    )
    edge = np.array([sized.edge(dart.edge).length for sized, dart in sizes])
    if not faulty:  # beside a faulty size every other jumps
        yield from _find_jumps(
            pattern, piece, drawn[0].name, mouth, depth, along.mean(axis=1), edge
        )
    # Sizes in which the legs come along their edge in another order than in the others.
    first = along[:, 0] < along[:, 1]
    usual = 2 * first.sum() > len(first)
    if 2 * first.sum() == len(first):
        usual = first[pattern.sizes.index(pattern.base)]
    other = [size for size, here in zip(pattern.sizes, first, strict=True) if here != usual]
    if other:
        yield Finding(
            "dart legs exchanged",
            f"piece '{piece}', size {quote_names(other)}, dart '{drawn[0].name}'",
            f"found the legs '{drawn[0].legs[0]}' and '{drawn[0].legs[1]}' in another order along "
            "their edge than in the other sizes, expected one order; most likely their names are "
            "exchanged here. Exchange them, or what is held by a leg's name goes to the wrong one",
            (piece,),
        )


def _judge_drawing(
    piece: str,
    place: str,
    sized: SizedPiece,
    dart: Dart,
    lengths: Array,
    mouth: float,
    depth: float,
) -> Iterator[Finding]:
    """What cannot be sewn as it is drawn, in one size: tip, legs, width."""
    away = float(shapely.Polygon(sized.outline).distance(shapely.Point(dart.tip)))
    if away > ON_LINE_MM:
        yield Finding(
            "dart tip outside",
            place,
            f"found the tip {away:.1f} mm outside the piece, expected it inside; most likely a "
            "number was mistyped, or it was taken from another piece or unit. Put the tip where "
            "the dart ends on the cloth",
            (piece,),
            sews=False,
        )
    apart = float(abs(lengths[1] - lengths[0]))
    if apart > DART_LEGS_LOOK_MM:
        aside = (lengths[0] ** 2 - lengths[1] ** 2) / (2 * mouth)
        long, short = dart.legs if lengths[0] > lengths[1] else dart.legs[::-1]
        yield Finding(
            "dart legs differ",
            place,
            f"found legs of {lengths[0]:.1f} mm ('{dart.legs[0]}') and {lengths[1]:.1f} mm "
            f"('{dart.legs[1]}'), expected them alike within {DART_LEGS_LOOK_MM:g} mm, as they are "
            f"sewn on each other; most likely the tip slipped aside ({abs(aside):.1f} mm from "
            f"above the middle of the mouth, away from '{long}'), or a leg's mark is off. Put the "
            f"tip above the middle, or true '{long}' to '{short}'",
            (piece,),
            sews=apart <= DART_LEGS_MM,
        )
    if mouth > depth:
        yield Finding(
            "dart wider than long",
            place,
            f"found a mouth of {mouth:.1f} mm and a depth of {depth:.1f} mm, expected a dart that "
            "is longer than it is wide; most likely the tip is too near the edge, or a leg belongs "
            "to the dart beside it. Look at the tip and at the names of the legs",
            (piece,),
        )


def _find_jumps(
    pattern: PatternSet,
    piece: str,
    dart: str,
    mouth: Array,
    depth: Array,
    middle: Array,
    edge: Array,
) -> Iterator[Finding]:
    """Sizes out of line with those beside them; one in another unit is told with the piece."""
    share = middle / edge * edge.mean()
    for words, seen in (
        ("a mouth of {} mm", [mouth]),
        ("a depth from mouth to tip of {} mm", [depth]),
        ("the middle of its mouth {} mm from the edge's start", [middle, edge - middle, share]),
    ):
        row, off = seen[0], out_of_line(np.array(seen), OUT_OF_LINE_MM, True).all(axis=0)
        for at in np.flatnonzero(off).tolist():
            ratios = (float(of[at] / median(of)) for of in (mouth, depth))
            if all(unit_of_ratio(ratio, 0.25) is not None for ratio in ratios):
                continue
            expected = expected_beside(row, at)
            yield Finding(
                "dart out of line",
                f"piece '{piece}', size '{pattern.sizes[at]}', dart '{dart}'",
                f"found {words.format(f'{row[at]:.1f}')} where the sizes beside it lead to about "
                f"{expected:.1f} mm ({row[at] - expected:+.1f}), expected it in line with them; "
                "most likely a leg or the tip slipped in this size. Lay the sizes over each other "
                "on the tip",
                (piece,),
            )


def _tell_once(
    pattern: PatternSet, piece: str, dart: str, found: Mapping[int, Finding]
) -> Iterator[Finding]:
    """Tell the same of several sizes once, with the figures of the first."""
    alike: dict[tuple[str, bool], list[int]] = {}
    for at, finding in found.items():
        alike.setdefault((finding.rule, finding.sews), []).append(at)
    for places in alike.values():
        first = found[places[0]]
        if len(places) > 1:
            sizes = quote_names(pattern.sizes[at] for at in places)
            where = f"piece '{piece}', size {sizes}, dart '{dart}'"
            text = f"in '{pattern.sizes[places[0]]}' {first.text}"
            first = replace(first, where=where, text=text)
        yield first
