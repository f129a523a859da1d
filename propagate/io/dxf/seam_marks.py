"""Notches that are drawn on the seam line inside a cut line that is drawn alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from propagate.counts import say_count
from propagate.geometry.beside import find_squares
from propagate.geometry.polyline import locate_all, point_at
from propagate.io.dxf.draft import Draft
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array, SizedPiece

__all__ = ["keep_on_seam", "place_notches_inside", "tell_marks_inside"]

_INSIDE_MM: Final = 1.0
"""A notch this far inside the cut line is not drawn on it."""
_ON_SEAM_MM: Final = 0.5
_NEAR_SEAM: Final = 0.5
"""One that lies off its place by less than this share of the allowance was meant for it."""
_AS_NEAR_MM: Final = 0.05
_AT_CORNER_MM: Final = 0.1
_BESIDE_CORNER_MM: Final = 2.0


def place_notches_inside(
    drafts: Mapping[str, Draft], nest: Mapping[str, SizedPiece], widths: Mapping[str, float]
) -> bool:
    """Put notches that lie on the seam line on the edge whose allowance tells so.

    Parameters
    ----------
    drafts : mapping of size to Draft
    nest : mapping of size to SizedPiece
        The piece on its cut line, its edges with the names that the allowances have.
    widths : mapping of edge name to mm

    Returns
    -------
    bool
        Whether any is; the nest is built anew then, since its notches have other edges.
    """
    found = False
    for size, sized in nest.items():
        draft = drafts[size]
        if not draft.notches:
            continue
        wide = _draft_widths(draft, sized, widths)
        at = np.array([notch.at for notch in draft.notches])
        on = [locate_all(edge, at) for edge in draft.edges]
        gaps = np.array([gap for _, gap in on])
        off = np.where(wide[:, None] > _INSIDE_MM, np.abs(gaps - wide[:, None]), np.inf)
        near = (off <= np.maximum(_ON_SEAM_MM, _NEAR_SEAM * wide[:, None])).any(axis=0)
        for k in np.flatnonzero((gaps.min(axis=0) > _INSIDE_MM) & near).tolist():
            # At a corner of the seam line the first of both edges, in every size.
            edge = int(np.flatnonzero(off[:, k] <= off[:, k].min() + _AS_NEAR_MM)[0])
            gap = float(gaps[edge, k])
            foot = find_squares(draft.edges, edge, draft.turns[edge]).foot(at[k], gap)
            notch = draft.notches[k]
            notch.edge, notch.gap, notch.inside = edge, gap, True
            notch.along = float(on[edge][0][k]) if foot is None else foot
            found = True
    return found


def _draft_widths(draft: Draft, sized: SizedPiece, widths: Mapping[str, float]) -> Array:
    """Allowance of each edge of a draft: of the edge of the piece that runs over its middle."""
    middles = np.array([point_at(edge, _measure_half(edge)) for edge in draft.edges])
    gaps = np.array([locate_all(edge.points, middles)[1] for edge in sized.edges])
    names = sized.edge_names
    return np.array([widths[names[k]] for k in gaps.argmin(axis=0)])


def _measure_half(edge: Array) -> float:
    return float(np.hypot(*np.diff(edge, axis=0).T).sum()) / 2.0


def keep_on_seam(
    drafts: Mapping[str, Draft], nest: Mapping[str, SizedPiece]
) -> dict[str, SizedPiece]:
    """The pieces with the notches that lie on the seam line where they are drawn."""
    kept = {}
    for size, sized in nest.items():
        inside = {notch.name: notch.at for notch in drafts[size].notches if notch.inside}
        marks = tuple(
            replace(mark, point=inside.get(mark.name, mark.point)) for mark in sized.landmarks
        )
        kept[size] = replace(sized, landmarks=marks) if inside else sized
    return kept


def tell_marks_inside(
    drafts: Mapping[str, Draft],
    seams: Mapping[str, SizedPiece],
    notes: ReportNotes,
    name: str,
) -> None:
    """Say which marks lie on the seam line, and which lie beside it, so that it may be wrong.

    Parameters
    ----------
    seams : mapping of size to SizedPiece
        The piece on its seam line.
    """
    beside: dict[str, dict[str, float]] = {}
    for size, sized in seams.items():
        inside = 0
        notches = [notch for notch in drafts[size].notches if notch.gap > _INSIDE_MM]
        closed = np.vstack([sized.outline, sized.outline[:1]])
        for notch in notches:
            off = float(locate_all(closed, np.array([notch.at]))[1][0])
            if off <= _ON_SEAM_MM:
                inside += 1
            else:
                beside.setdefault(notch.name, {})[size] = notch.gap
        if inside:
            notes.add(
                "found",
                f"{say_count(inside, 'notch')} drawn on the seam line inside the cut line: kept "
                "there",
                piece=name,
                size=size,
            )
        _tell_drills(sized, notes, name, size)
    for mark, gaps in beside.items():
        least, most = min(gaps.values()), max(gaps.values())
        gap = f"{least:.1f}" if most - least < 0.1 else f"{least:.1f} to {most:.1f}"
        sizes = f"size{'s' * (len(gaps) > 1)} {', '.join(gaps)}"
        notes.add(
            "warning",
            f"the notch '{mark}' lies {gap} mm inside the cut line in {sizes}, not on the seam "
            "line; it is put there square across: look at it, or give its edge another allowance",
            option="--allowance",
            piece=name,
        )


def _tell_drills(sized: SizedPiece, notes: ReportNotes, name: str, size: str) -> None:
    tips = {dart.tip for dart in sized.darts}
    drills = [mark for mark in sized.drills if mark.point not in tips]
    if not drills:
        return
    corners = np.array([edge.points[0] for edge in sized.edges])
    gaps = np.hypot(*(np.array([m.point for m in drills])[:, None] - corners).transpose(2, 0, 1))
    near = gaps.min(axis=1)
    at = int((near <= _AT_CORNER_MM).sum())
    if at:
        notes.add(
            "found",
            f"{say_count(at, 'drill mark')} at corners of the seam line: kept there",
            piece=name,
            size=size,
        )
    for mark, gap in zip(drills, near.tolist(), strict=True):
        if _AT_CORNER_MM < gap <= _BESIDE_CORNER_MM:
            notes.add(
                "warning",
                f"the drill mark '{mark.name}' lies {gap:.2f} mm beside a corner of the seam line; "
                "look at the allowances of its edges",
                option="--allowance",
                piece=name,
                size=size,
            )
