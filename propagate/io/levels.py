"""Levels through landmarks: put on pieces whose geometry names none, and taken off again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.errors import UnknownName
from propagate.io.geometry_toml import LevelsThrough
from propagate.pattern.model import Piece, SizedPiece

__all__ = ["with_levels", "without_levels"]


def with_levels(
    pieces: Mapping[str, Piece], levels: LevelsThrough
) -> tuple[dict[str, Mapping[str, SizedPiece]], list[str]]:
    """Return the nests of the pieces that get a level, and what is wrong.

    Parameters
    ----------
    pieces : mapping of name to Piece
    levels : mapping of level name to a mapping of piece to landmark

    Returns
    -------
    nests : mapping of piece name to its nest with the levels
    problems : list of str
        Pieces and landmarks that are not there, and levels that are drawn already.
    """
    nests: dict[str, Mapping[str, SizedPiece]] = {}
    problems: list[str] = []
    for level, places in levels.items():
        for name, landmark in places.items():
            where = f"level '{level}'"
            if name not in pieces:
                problems.append(f"{where}: {UnknownName('piece', name, list(pieces))}")
                continue
            where += f", piece '{name}'"
            nest = nests.get(name, pieces[name].nest)
            drawn = [size for size, sized in nest.items() if level in sized.levels]
            if drawn:
                problems.append(
                    f"{where}: found it drawn already in size '{drawn[0]}', expected it only where "
                    f"the geometry names no such level; take it out of [levels.{level}], or give "
                    "it another name"
                )
                continue
            try:
                nests[name] = {
                    size: replace(
                        sized, levels={**sized.levels, level: sized.landmark(landmark).point}
                    )
                    for size, sized in nest.items()
                }
            except UnknownName as error:
                problems.append(f"{where}: {error}")
    return nests, problems


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
