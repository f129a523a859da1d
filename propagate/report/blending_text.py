"""What blending sizes would go by, in words: asked last, when all pieces are joined."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain
from propagate.pattern.titles import in_sentence, listed, name_title, piece_title
from propagate.report.asking_text import words_of_run
from propagate.report.layout import entries, sentence
from propagate.report.units import MILLIMETRES
from propagate.suggesting.blending import CROTCH, Blending

__all__ = ["NOT_TOLD", "blending_lines"]

NOT_TOLD = (
    "Blending sizes is not prepared: no two pieces were found with a side seam, a centre, an edge "
    "between them at the top, and a pair of notches that meet on the side seam near the hip. "
    "[blend] in set.toml says it by hand."
)
"""What is said when nothing can be asked."""


def blending_lines(pattern: PatternSet, found: Blending, left: int) -> list[str]:
    """A question at 80 columns."""
    head = f"Last, for blending sizes ({left} left): is all of this so?"
    return ["", *sentence(head), *entries(list(_rows(pattern, found)))]


def _rows(pattern: PatternSet, found: Blending) -> Iterator[tuple[str, str]]:
    seam = pattern.relations.seams[found.plan.seam]
    runs = " sewn to ".join(words_of_run(pattern, run) for run in (seam.lead, seam.follow))
    yield "side", f"{runs}; a change comes from the first"
    yield "waist", _edges(pattern, [(main, main.across) for main in found.plan.mains])
    yield "centre", _edges(pattern, [(main, main.centre) for main in found.plan.mains])
    marks = [
        f"{_name(pattern, piece, mark)}, {MILLIMETRES.said(mm)} below the top of its centre"
        for piece, (mark, mm) in found.hip.items()
    ]
    yield "hip", "; ".join(marks)
    yield "below the hip", "nothing of the size that the hip has changes"
    crotch = "the crotch, where the inseam meets the centre"
    yield "laid on", crotch if found.lay_on == CROTCH else "the hip"
    yield "girths", "waist and hip are twice what these pieces have"
    for piece, anchors in found.anchors.items():
        names = listed([_name(pattern, piece, mark) for mark in anchors])
        yield "kept", f"{names}: as far from the end of its edge as it is"
    if found.places:
        names = listed([in_sentence(piece_title(pattern, one.piece)) for one in found.places])
        yield "as drawn", f"{names}, in the size of the waist"


def _edges(pattern: PatternSet, edges: list[tuple[BlendMain, str]]) -> str:
    held = pattern.relations.assemblies
    runs = []
    for main, edge in edges:
        if main.silhouette in held:
            runs.append(words_of_run(pattern, held[main.silhouette].edges[edge]))
        else:
            runs.append(_name(pattern, main.silhouette, edge))
    return "; ".join(runs)


def _name(pattern: PatternSet, piece: str, name: str) -> str:
    return (
        f"{in_sentence(name_title(pattern, name, piece))} of "
        f"{in_sentence(piece_title(pattern, piece))}"
    )
