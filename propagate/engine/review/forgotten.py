"""Marks and lines that are there in some sizes of a piece and missing in others."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.pattern.buttons import marks_called
from propagate.pattern.model import SizedPiece
from propagate.pattern.names import quote_names
from propagate.pattern.patternset import PatternSet

__all__ = ["review_marks"]


def review_marks(pattern: PatternSet) -> Iterator[Finding]:
    """Find inner lines and drill marks that not every size has, and marks of two kinds.

    Of a row of buttons a larger size may have more: that is walked.
    """
    for piece in pattern.pieces.values():
        nest = {size: piece.at(size) for size in pattern.sizes}
        lines = {size: [line.name for line in sized.lines] for size, sized in nest.items()}
        drills = {size: [mark.name for mark in sized.drills] for size, sized in nest.items()}
        for kind, have in (("line", lines), ("drill mark", drills)):
            for name in dict.fromkeys(name for found in have.values() for name in found):
                lacks = [size for size, found in have.items() if name not in found]
                if not lacks or _is_in_a_row(pattern, piece.name, nest, name):
                    continue
                likely = (
                    "it was drawn for one size and not graded, or has another name in the others. "
                    "Draw it in every size, or take it out"
                )
                if len(lacks) * 2 <= len(nest):
                    likely = "it was forgotten there. Draw it as in the other sizes"
                yield Finding(
                    f"{kind} forgotten",
                    f"piece '{piece.name}', size {quote_names(lacks)}",
                    f"found no {kind} '{name}', which other sizes have, expected it in every size; "
                    f"most likely {likely}",
                    (piece.name,),
                )
        kinds: dict[str, dict[str, list[str]]] = {}
        for size, sized in nest.items():
            for drawn_mark in sized.landmarks:
                kinds.setdefault(drawn_mark.name, {}).setdefault(drawn_mark.kind, []).append(size)
        for mark_name, seen in kinds.items():
            if len(seen) > 1:
                told = ", ".join(f"a {kind} in size {', '.join(of)}" for kind, of in seen.items())
                yield Finding(
                    "mark of two kinds",
                    f"piece '{piece.name}', mark '{mark_name}'",
                    f"found {told}, expected one kind in every size; most likely it was drawn anew "
                    "in one of them. Give it the kind that it has in the others",
                    (piece.name,),
                )


def _is_in_a_row(pattern: PatternSet, piece: str, nest: dict[str, SizedPiece], name: str) -> bool:
    return any(
        run[0].piece == piece and any(m.name == name for m in marks_called(sized, marks))
        for buttons in pattern.relations.buttons.values()
        for run, marks in zip(buttons.sides, buttons.marks, strict=True)
        for sized in nest.values()
    )
