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
from propagate.report.scene.items import Line, Role, Scene, Text, text
from propagate.report.scene.labels import Labels, shapes_of
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import outward_at
from propagate.report.scene.taken import Taken

__all__ = ["Names"]

_CORNER, _MARK, _NAME = 3.4, 2.7, 2.5


class Names:
    """Writes letters and names on a piece, and adds them to the texts that are written.

    Parameters
    ----------
    canvas : PdfCanvas
    named_by : (PatternSet, str)
        The set that says titles, and the piece.
    sized : SizedPiece
    drawn : Scene
        The piece as it is composed: its face, cut line and levels.
    taken : Taken
        The texts that are written already.
    drawn_on : sequence of Taken
        Lines and marks.
    """

    def __init__(
        self,
        canvas: PdfCanvas,
        named_by: tuple[PatternSet, str],
        sized: SizedPiece,
        drawn: Scene,
        taken: Taken,
        drawn_on: Sequence[Taken],
    ) -> None:
        self._named_by = named_by
        self._canvas, self._sized, self._drawn, self._taken = canvas, sized, drawn, taken
        rings = [i.points for i in drawn.of(Role.CUT) if isinstance(i, Line)] or [sized.outline]
        self._labels = Labels(
            Scene(drawn.of(Role.FACE)),
            canvas.width,
            shapely.make_valid(shapely.Polygon(rings[0])),
            drawn_on,
            taken,
        )

    def write_letters(self) -> None:
        """Write the letter of each corner and mark beside it, a far one tied to it by a line."""
        for one in letters_of(self._sized):
            corner = one.kind == "corner"
            label = _label(one.letter, _CORNER if corner else _MARK, bold=corner)
            self._labels.near(one.point, label, first=_inward(self._sized, one))
        self._write_placed()

    def write_names(self) -> None:
        """Write the name of each edge inside its seam line, and of each level on its line.

        An edge without room beside it goes without: the letters of its corners tell it.
        """
        pattern, piece = self._named_by
        lines = [(e.points, name_title(pattern, e.name, piece)) for e in self._sized.edges]
        lines.sort(key=lambda item: -shapely.LineString(item[0]).length)
        levels = (item for item in self._drawn.of(Role.LEVEL) if isinstance(item, Line))
        lines += [(item.points, name_title(pattern, item.name)) for item in levels]
        for points, title in lines:
            self._labels.along(points, _label(title, _NAME, pale=True), within=True)
        self._write_placed()

    def _write_placed(self) -> None:
        """Write what was placed since the last time."""
        paint(self._labels.scene, self._canvas, layer="label")
        for tie in self._labels.scene.of(Role.LEADER):
            for shape in shapes_of(tie):
                self._taken.add(shape)
        self._labels.items.clear()


def _label(words: str, size: float, *, bold: bool = False, pale: bool = False) -> Text:
    return text((0.0, 0.0), words, size, bold=bold, tone="pale" if pale else "ink")


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
