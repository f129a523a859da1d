"""Pieces that are cut alike: what they read and write, and what can be wrong with them."""

from __future__ import annotations

from collections.abc import Collection

from propagate.pattern.alike import Alike
from propagate.pattern.names import Names
from propagate.pattern.patternset import PatternSet

__all__ = ["alike_edges", "alike_links", "are_copies", "check_alike"]


def alike_edges(pattern: PatternSet, alike: Alike) -> list[str]:
    """Every edge of every copy."""
    return sorted(key for piece in alike.pieces for key in _edges(pattern, piece))


def alike_links(pattern: PatternSet, alike: Alike) -> tuple[list[str], list[str]]:
    """Reads the first copy and writes the others."""
    first, *others = alike.pieces
    return _edges(pattern, first), [key for piece in others for key in _edges(pattern, piece)]


def are_copies(pattern: PatternSet, pieces: Collection[str]) -> bool:
    """Whether pieces are copies of each other."""
    return len(set(pieces)) > 1 and any(
        set(pieces) <= set(alike.pieces) for alike in pattern.relations.alike.values()
    )


def _edges(pattern: PatternSet, piece: str) -> list[str]:
    names = next(iter(pattern.pieces[piece].nest.values())).edge_names
    return [f"{piece}.{edge}" for edge in names]


def check_alike(names: Names) -> None:
    """Check that copies exist, are called alike, and are drawn by nothing else as a whole."""
    relations = names.pattern.relations
    owner: dict[str, str] = {}
    for alike in relations.alike.values():
        where = f"alike '{alike.name}'"
        if len(set(alike.pieces)) < 2 or len(set(alike.pieces)) != len(alike.pieces):
            names.add(
                f"{where}, pieces",
                f"found {', '.join(alike.pieces) or 'none'}, expected two or more that differ",
            )
            continue
        found = {piece: names.piece(f"{where}, pieces", piece) for piece in alike.pieces}
        for piece in alike.pieces:
            _check_alone(names, where, piece, owner.setdefault(piece, alike.name) != alike.name)
        first, *others = alike.pieces
        model = found[first]
        for other in others:
            copy = found[other]
            if model is None or copy is None:
                continue
            for kind, mine, theirs in (
                ("edges", model.edge_names, copy.edge_names),
                (
                    "landmarks",
                    [mark.name for mark in model.landmarks],
                    [mark.name for mark in copy.landmarks],
                ),
            ):
                if set(mine) != set(theirs):
                    odd = ", ".join(f"'{name}'" for name in sorted(set(mine) ^ set(theirs)))
                    names.add(
                        where,
                        f"found {kind} of '{first}' and '{other}' that the other one has not "
                        f"({odd}), expected the same names on both",
                    )


def _check_alone(names: Names, where: str, piece: str, twice: bool) -> None:
    relations = names.pattern.relations
    bands = {band.piece: band.name for band in relations.bands.values()}
    layers = {layer.piece: s.name for s in relations.stacks.values() for layer in s.layers}
    for what, known in (
        ("is derived", relations.derived),
        ("is taken in the size of its place", relations.places),
        ("is drawn by a band", bands),
        ("is a layer of a stack", layers),
    ):
        if piece in known:
            names.add(where, f"found that '{piece}' {what}, expected a piece that is drawn")
    if twice:
        names.add(where, f"found '{piece}' among other copies too, expected each piece once")
