"""The words of the work sheet on a printed piece: letters, names of edges and of levels."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import name_title
from propagate.report.lettering import Lettered, letters_of
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.scene.items import Item, Line, Role, text
from propagate.report.scene.labels import Labels, shapes_of
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import outward_at

__all__ = ["write_letters", "write_names"]

_CORNER, _MARK, _NAME = 3.4, 2.7, 2.5


def write_letters(canvas: PdfCanvas, sized: SizedPiece, labels: Labels) -> None:
    """Write the letter of each corner and mark beside it, a far one tied to it by a line."""
    for one in letters_of(sized):
        corner = one.kind == "corner"
        label = text((0.0, 0.0), one.letter, _CORNER if corner else _MARK, bold=corner)
        labels.near(one.point, label, first=_inward(sized, one))
    _write_placed(canvas, labels)


def write_names(
    canvas: PdfCanvas,
    named_by: tuple[PatternSet, str],
    sized: SizedPiece,
    levels: Sequence[Item],
    labels: Labels,
) -> None:
    """Write the name of each edge inside its seam line, and of each level on its line.

    An edge without room beside it goes without: the letters of its corners tell it.
    `named_by` is the set that says titles, and the piece.
    """
    pattern, piece = named_by
    named: list[tuple[np.ndarray, tuple[str, ...]]] = [
        (e.points, (name_title(pattern, e.name, piece),)) for e in sized.edges
    ]
    named.sort(key=lambda item: -shapely.LineString(item[0]).length)
    named += [
        (i.points, _of_level(name_title(pattern, i.name))) for i in levels if isinstance(i, Line)
    ]
    for points, titles in named:
        for title in titles:
            label = text((0.0, 0.0), title, _NAME, tone="pale")
            if labels.along(points, label, within=True):
                break
    _write_placed(canvas, labels)


def _of_level(title: str) -> tuple[str, ...]:
    """What a level is called, since an edge may have its name; shorter where that has no room."""
    return (title,) if "level" in title.lower() else (f"{title} level", title)


def _write_placed(canvas: PdfCanvas, labels: Labels) -> None:
    """Write what was placed since the last time; later texts keep off its ties as well."""
    paint(labels.scene, canvas, layer="label")
    for tie in labels.scene.of(Role.LEADER):
        for shape in shapes_of(tie):
            labels.keep(shape)
    labels.items.clear()


def _inward(sized: SizedPiece, one: Lettered) -> float:
    """The direction from a corner or mark into the piece, in radians."""
    if one.kind == "corner":
        before = sized.edge(one.key.removesuffix(".end"))
        after = sized.edges[(sized.edges.index(before) + 1) % len(sized.edges)]
        steps = np.diff(before.points[-2:], axis=0)[0], np.diff(after.points[:2], axis=0)[0]
        along = sum(step / math.hypot(*step) for step in steps)
        return math.atan2(along[0], -along[1])
    if any(mark.name == one.key for mark in sized.landmarks):
        out = outward_at(sized, sized.landmark(one.key))
        return math.atan2(-out[1], -out[0])
    return math.pi / 4
