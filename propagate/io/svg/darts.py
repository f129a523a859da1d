"""Darts in drawings that have no line of three points for them."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.io.svg.marks import Place
from propagate.pattern.model import SizedPiece
from propagate.recognise.darts import MOST_TIPS, find_darts
from propagate.recognise.edge_names import name_edges, rename_edges, turn_upright

__all__ = ["with_darts"]


def with_darts(
    nest: Mapping[str, SizedPiece],
    base: str,
    fold: str | None,
    place: Place,
    *,
    named: bool,
) -> tuple[Mapping[str, SizedPiece], str | None]:
    """Find darts, say what was taken for one and what was not, and name the edges anew.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
    fold : str or None
        The edge on the fold.
    place : Place
        Where messages point.
    named : bool
        The drawing has names for the edges: they stay, and what looks like a dart is told.

    Returns
    -------
    nest : mapping of size to SizedPiece
        Itself where no dart was found.
    fold : str or None
    """
    if len(nest[base].drills) > MOST_TIPS:
        place.note("warning", f"it has more than {MOST_TIPS} drill marks: no darts were looked for")
        return nest, fold
    darts = find_darts(nest, base, keep=nest[base].edge_names if named else ())
    for words in darts.doubts:
        place.note("warning", words)
    if named:
        return nest, fold
    for words in darts.passed:
        place.note("found", words)
    for item in darts.found:
        place.note("assumed", f"{item.words}; edges that have names stay as they are drawn")
    if not darts.found:
        return nest, fold
    main = darts.nest[base]
    on_fold = None if fold is None else main.edge_names.index(darts.names[fold])
    names = name_edges(
        [edge.points for edge in main.edges], turn_upright(main.grain.direction), on_fold
    )
    new = dict(zip(main.edge_names, names, strict=True))
    renamed = {size: rename_edges(piece, new) for size, piece in darts.nest.items()}
    return renamed, None if fold is None else new[darts.names[fold]]
