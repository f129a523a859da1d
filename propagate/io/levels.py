"""Levels through landmarks: put on pieces whose geometry names none, and taken off again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.errors import UnknownName
from propagate.io.geometry_toml import LevelsThrough
from propagate.pattern.model import Piece

__all__ = ["with_levels", "without_levels"]


def with_levels(
    pieces: Mapping[str, Piece], levels: LevelsThrough
) -> tuple[dict[str, Piece], list[str]]:
    """Put levels through landmarks on pieces, and tell what is wrong.

    Parameters
    ----------
    pieces : mapping of name to Piece
    levels : mapping of level name to a mapping of piece to landmark

    Returns
    -------
    pieces : mapping of name to Piece
        All of them.
    problems : list of str
        Pieces and landmarks that are not there, and levels that are drawn already.
    """
    found, problems = dict(pieces), list[str]()
    for level, name, landmark in (
        (k, *place) for k, row in levels.items() for place in row.items()
    ):
        where = f"level '{level}'"
        if name not in pieces:
            problems.append(f"{where}: {UnknownName('piece', name, list(pieces))}")
            continue
        where += f", piece '{name}'"
        nest = found[name].nest
        drawn = [size for size, sized in nest.items() if level in sized.levels]
        if drawn:
            problems.append(
                f"{where}: found it drawn already in size '{drawn[0]}', expected it only where "
                f"the geometry names no such level; take it out of [levels.{level}], or give "
                "it another name"
            )
            continue
        try:
            through = {size: sized.landmark(landmark).point for size, sized in nest.items()}
        except UnknownName as error:
            problems.append(f"{where}: {error}")
            continue
        levelled = {
            size: replace(sized, levels={**sized.levels, level: through[size]})
            for size, sized in nest.items()
        }
        found[name] = Piece(name, levelled)
    return found, problems


def without_levels(piece: Piece, levels: LevelsThrough) -> Piece:
    """Return a piece without the levels that the relations file gives it."""
    own = {level for level, places in levels.items() if piece.name in places}
    if not own:
        return piece
    return Piece(
        piece.name,
        {
            size: replace(sized, levels={k: at for k, at in sized.levels.items() if k not in own})
            for size, sized in piece.nest.items()
        },
    )
