"""Marks and lines that are there in some sizes of a piece and missing in others."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.pattern.buttons import marks_called
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["review_forgotten"]


def review_forgotten(pattern: PatternSet) -> Iterator[Finding]:
    """Find inner lines and drill marks that not every size has, and marks of two kinds.

    Of a row of buttons a larger size may have more: that is walked.
    """
    for piece in pattern.pieces.values():
        nest = {size: piece.at(size) for size in pattern.sizes}
        for kind, names in (("line", _name_lines), ("drill mark", _name_drills)):
            have = {size: names(sized) for size, sized in nest.items()}
            for name in dict.fromkeys(name for found in have.values() for name in found):
                lacks = [size for size, found in have.items() if name not in found]
                if lacks and not _is_in_a_row(pattern, piece.name, nest, name):
                    yield _tell_missing(piece.name, kind, name, lacks, len(nest))
        yield from _compare_kinds(piece.name, nest)


def _is_in_a_row(pattern: PatternSet, piece: str, nest: dict[str, SizedPiece], name: str) -> bool:
    return any(
        run[0].piece == piece and any(m.name == name for m in marks_called(sized, marks))
        for buttons in pattern.relations.buttons.values()
        for run, marks in zip(buttons.sides, buttons.marks, strict=True)
        for sized in nest.values()
    )


def _name_lines(sized: SizedPiece) -> tuple[str, ...]:
    return tuple(line.name for line in sized.lines)


def _name_drills(sized: SizedPiece) -> tuple[str, ...]:
    return tuple(mark.name for mark in sized.drills)


def _tell_missing(piece: str, kind: str, name: str, lacks: list[str], sizes: int) -> Finding:
    few = len(lacks) * 2 <= sizes
    likely = (
        "it was forgotten there. Draw it as in the other sizes"
        if few
        else "it was drawn for one size and not graded, or has another name in the others. Draw "
        "it in every size, or take it out"
    )
    return Finding(
        f"{kind} forgotten",
        f"piece '{piece}', size '{', '.join(lacks)}'",
        f"found no {kind} '{name}', which other sizes have, expected it in every size; most likely "
        f"{likely}",
        (piece,),
    )


def _compare_kinds(piece: str, nest: dict[str, SizedPiece]) -> Iterator[Finding]:
    """Landmarks that are a notch in some sizes and a mark that nobody cuts in others."""
    kinds: dict[str, dict[str, list[str]]] = {}
    for size, sized in nest.items():
        for mark in sized.landmarks:
            kinds.setdefault(mark.name, {}).setdefault(mark.kind, []).append(size)
    for name, found in kinds.items():
        if len(found) > 1:
            told = ", ".join(f"a {kind} in size {', '.join(of)}" for kind, of in found.items())
            yield Finding(
                "mark of two kinds",
                f"piece '{piece}', mark '{name}'",
                f"found {told}, expected one kind in every size; most likely it was drawn anew "
                "in one of them. Give it the kind that it has in the others",
                (piece,),
            )
