"""What can be wrong with what a set says of welt openings."""

from __future__ import annotations

import math

from propagate.pattern.model import SizedPiece
from propagate.pattern.names import Names
from propagate.pattern.welts import WeltOpening, anchor_kind, length_said, part_span

__all__ = ["check_welts"]


def check_welts(names: Names) -> None:
    """Check that the line, its marks, anchors and parts exist, and that lengths are lengths."""
    for opening in names.pattern.relations.welt_openings.values():
        where = f"welt opening '{opening.name}'"
        piece = names.piece(f"{where}, on", opening.on)
        if piece is not None:
            _check_anchors(names, where, opening, piece)
            _check_drawn(names, where, opening)
        _check_length(names, where, opening)
        _check_parts(names, where, opening)


def _check_drawn(names: Names, where: str, opening: WeltOpening) -> None:
    """Its line and its marks in every size."""
    for size, sized in names.pattern.pieces[opening.on].nest.items():
        lines = [line.name for line in sized.lines]
        inner = [*lines, *(mark.name for mark in sized.drills)]
        for what, said, known in (
            ("line", (opening.line,), lines),
            ("line or drill mark", opening.marks, inner),
        ):
            for name in said:
                if name not in known:
                    names.add(
                        where,
                        f"found no {what} '{name}' on '{opening.on}' in size '{size}', expected "
                        f"one of {', '.join(known) or 'none'}",
                    )


def _check_anchors(names: Names, where: str, opening: WeltOpening, piece: SizedPiece) -> None:
    said = opening.anchors
    if len(said) > 2 or len(set(said)) != len(said):
        names.add(f"{where}, from", f"found {', '.join(said)}, expected one, or two that differ")
    kinds = {name: anchor_kind(piece, name) for name in said}
    for name, kind in kinds.items():
        if kind is None:
            known = [
                *piece.edge_names,
                *(dart.name for dart in piece.darts),
                *(mark.name for mark in piece.landmarks),
                *piece.levels,
            ]
            names.unknown(
                f"{where}, from", "edge, dart, landmark or level", name, known, f"'{opening.on}'"
            )
    if kinds and None not in kinds.values() and set(kinds.values()) == {"level"}:
        names.add(
            f"{where}, from",
            f"found {' and '.join(said)}, expected an edge, a dart or a landmark as well: a level "
            "does not say where along it the opening lies",
        )


def _check_length(names: Names, where: str, opening: WeltOpening) -> None:
    amount = opening.length
    if amount is None:
        return
    if amount.share is not None:
        names.add(f"{where}, length", "found a share, expected a length in mm, or one by size")
        return
    for size in names.pattern.sizes:
        mm = length_said(opening, size)
        if mm is None:
            names.add(f"{where}, length", f"found none for size '{size}', expected one")
        elif not (math.isfinite(mm) and mm > 0.0):
            names.add(f"{where}, length", f"found {mm:g} mm, expected more than 0")
    for size, _ in amount.sizes:
        if size not in names.pattern.sizes:
            names.unknown(f"{where}, length", "size", size, names.pattern.sizes)


def _check_parts(names: Names, where: str, opening: WeltOpening) -> None:
    derived = names.pattern.relations.derived
    for part in opening.parts:
        place = f"{where}, part '{part.piece}'"
        if part.piece == opening.on:
            names.add(place, "found the main piece itself, expected a piece that is sewn to it")
        if part.piece in derived:
            names.add(
                place,
                f"found that it is derived from '{derived[part.piece].of}' too, expected one of "
                "the two to say how long it is",
            )
        names.span(place, part_span(part))
