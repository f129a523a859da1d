"""Where the edges of an outline begin: turn points, angles, the ends of a fold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.geometry.beside import answering_vertices, longest_run_on
from propagate.geometry.corner import angle_corners
from propagate.geometry.polyline import near_vertices
from propagate.io.dxf.conventions import TURN
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line
from propagate.io.words import counted
from propagate.pattern.dart_shape import turned_back
from propagate.pattern.model import Array
from propagate.recognise.corners import BareOutline, missed_corners
from propagate.values import dataclass

__all__ = ["Fold", "corner_vertices", "fold_run"]

_UP = np.array([0.0, 1.0])
_TOLD = 5  # flat corners of a piece


def corner_vertices(
    outline: Array,
    at: Mapping[str, Array],
    fold: list[int] | None,
    options: ReadOptions,
    notes: Notes,
    where: str,
    cut: Array | None = None,
) -> list[int]:
    """Return the vertices where edges begin, in outline order.

    `cut` is the cut line when the outline is a seam line of its own: where turn points stand
    on the cut line alone, the corners of the seam line that answer to them are taken.
    """
    given = at.get(TURN)
    found: list[int] = []
    if options.corners != "angle" and given is not None:
        found = _at_turn_points(outline, given, cut, notes, where)
    if not found and options.corners != "points":
        found = angle_corners(outline, options.corner_deg)
        notes.warn(
            ("there are no turn points on the outline" if options.corners == "auto" else "asked")
            + f": vertices that turn by more than {options.corner_deg:g} degrees are corners",
            option="corners, corner_deg",
            where=where,
        )
        for index, turn in missed_corners(BareOutline(outline, _UP), options.corner_deg)[:_TOLD]:
            x, y = outline[index]
            notes.info(
                f"a turn of {turn:.0f} degrees at ({x:.1f}, {y:.1f}) mm was not taken as a corner",
                option="corner_deg",
                where=where,
            )
    if fold is not None:
        found = sorted({*found, fold[0], fold[-1]} - set(fold[1:-1]))
    if not found:
        notes.warn("the outline has no corner: it is one edge", where=where)
    return found


def _at_turn_points(
    outline: Array, given: Array, cut: Array | None, notes: Notes, where: str
) -> list[int]:
    """Return the vertices at turn points, or those that answer to the cut line's."""
    own = near_vertices(outline, given)
    found = sorted({int(i) for i in own if i >= 0})
    if cut is None:
        return found
    on_cut = near_vertices(cut, given)
    corners = sorted({int(i) for i in on_cut if i >= 0})
    if bool(((own >= 0) & (on_cut < 0)).any()) or not bool(((own < 0) & (on_cut >= 0)).any()):
        return found  # the seam line has some of its own, or the cut line has no more
    answers = answering_vertices(cut, corners, outline)
    lost = [corner for corner, vertex in zip(corners, answers, strict=True) if vertex is None]
    found = sorted({*found, *(vertex for vertex in answers if vertex is not None)})
    # The cut line of a narrow dart ends far from the seam line's, where none answers to it.
    darts = [vertex for dart in turned_back(outline) for vertex in dart]
    if darts and lost:
        found = sorted({*found, *darts})
        tips = {tip for _, tip, _ in turned_back(cut)}
        lost = [corner for corner in lost if corner not in tips]
    notes.info(
        f"the turn points stand on the cut line alone: the {len(found)} corners of the seam line "
        "that answer to them are taken",
        option="corners",
        where=where,
    )
    if lost:
        notes.warn(
            f"no corner of the seam line answers to {counted(len(lost), 'turn point')}: "
            f"{_told(cut[lost])} mm",
            option="corners",
            where=where,
        )
    return found


def _told(places: Array) -> str:
    some = ", ".join(f"({x:.1f}, {y:.1f})" for x, y in places[:_TOLD])
    return some + (f" and {len(places) - _TOLD} more" if len(places) > _TOLD else "")


@dataclass(frozen=True)
class Fold:
    """Vertices of the outline on the fold, in outline order, and whether they lie on it.

    Where the outline is a cut line with an allowance at the fold too, they lie outside it.
    """

    run: list[int]
    outside: bool = False


def fold_run(
    outline: Array, lines: Sequence[Line], notes: Notes, where: str, *, inside: float = 0.0
) -> Fold | None:
    """Return the vertices of the outline that lie on the mirror line.

    Parameters
    ----------
    outline : (n, 2) array, mm
    lines : sequence of Line
        On the mirror layer.
    notes, where
    inside : float
        mm that the seam line will lie inside the outline, which is a cut line then: the
        mirror line may run along either.
    """
    if not lines:
        return None
    if len(lines) > 1:
        notes.info(f"there are {len(lines)} mirror lines; the first is taken", where=where)
    start, end = lines[0].points[0], lines[0].points[-1]
    run = longest_run_on(outline, start, end)
    if run is not None:
        return Fold(run)
    if inside:
        x, y = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
        square = np.array([y, -x]) * inside
        out = square if square @ (outline.mean(axis=0) - start) < 0 else -square  # off the middle
        run = longest_run_on(outline, start + out, end + out)
    if run is None:
        notes.warn(
            "no edge of the outline lies on the mirror line on layer 6: the piece is taken as "
            "whole",
            option="mirror",
            where=where,
        )
        return None
    notes.info(
        f"the mirror line on layer 6 runs {inside:g} mm inside the cut line, along the seam line: "
        "the fold keeps that allowance",
        option="mirror",
        where=where,
    )
    return Fold(run, outside=True)
