"""Sizes of one piece that mark other corners than each other: one row of corners for all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.geometry.polyline import locate_all
from propagate.io.dxf.draft import Draft, list_notches, part_at_corners
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array
from propagate.recognise.corners import BareOutline
from propagate.recognise.corners_alike import MarkedOutline, OddCorner, make_corners_alike

__all__ = ["agree_on_corners"]

_OPTION = "--dxf corners=..., --corner-angle"


def agree_on_corners(drafts: Mapping[str, Draft], notes: ReportNotes, where: str) -> None:
    """Let the sizes have the same corners where their numbers differ, and tell which.

    Edges that have names of their own, and corners that names mark, stay as they are.

    Parameters
    ----------
    drafts : mapping of size to Draft
        In the order of the sizes.
    """
    if len({len(draft.edges) for draft in drafts.values()}) == 1:
        return
    if any(any(draft.names) or any(draft.turns) for draft in drafts.values()):
        return
    alone = all(draft.cut is None for draft in drafts.values())
    found = make_corners_alike(
        {size: _mark_outline(draft) for size, draft in drafts.items()}, alone=alone
    )
    if found is None:
        return
    for size, draft in drafts.items():
        _part_again(draft, found.points[size], list(found.corners[size]))
    for odd in found.odd:
        notes.warn(_say_odd(odd, alone), option=_OPTION, where=where)


def _mark_outline(draft: Draft) -> MarkedOutline:
    starts = np.cumsum([0, *(len(edge) - 1 for edge in draft.edges[:-1])])
    return MarkedOutline(
        BareOutline(draft.outline, np.array(draft.grain.direction)),
        tuple(starts.tolist()),
        np.array([notch.at for notch in draft.notches]).reshape(-1, 2),
    )


def _part_again(draft: Draft, points: Array, starts: list[int]) -> None:
    """Part the outline of a draft at other corners; what lies on it stays in its place."""
    fold = None
    if draft.fold is not None:
        on_fold = draft.edges[draft.fold]
        fold = (on_fold[0] + on_fold[-1])[None] / 2.0
    draft.edges = [points[index] for index in part_at_corners(len(points), starts)]
    draft.names = [""] * len(starts)
    draft.turns = [()] * len(starts)
    if fold is not None:
        draft.fold = int(np.argmin([locate_all(edge, fold)[1][0] for edge in draft.edges]))
    if draft.notches:
        words = [notch.word for notch in draft.notches]
        draft.notches = list_notches(draft, words, np.array([notch.at for notch in draft.notches]))


def _say_odd(odd: OddCorner, alone: bool) -> str:
    x, y = odd.point
    there = f"the corner at ({x:.1f}, {y:.1f}) mm in size {odd.having[0]}"
    if odd.taken:
        return f"{there} is none in {_say_sizes(odd.lacking)}: it is put in where it answers there"
    if odd.inward and alone:
        return (
            f"{there} turns inwards and is none in {_say_sizes(odd.lacking)}: a hollow tighter "
            "than its allowance turns so; it is taken for no corner"
        )
    return f"{there} is one in {_say_sizes(odd.having)} alone: it is taken for no corner"


def _say_sizes(sizes: Sequence[str]) -> str:
    return f"size{'s' if len(sizes) > 1 else ''} {', '.join(sizes)}"
