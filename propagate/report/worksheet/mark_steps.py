"""Notches, dart legs and landmarks in their new places."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.report.worksheet.band_steps import bands_of
from propagate.report.worksheet.edges import marks_of
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source

__all__ = ["mark_steps"]


def mark_steps(source: Source) -> Iterable[Step]:
    """One sentence for every mark on an edge that changed."""
    sentences, pieces = [], []
    for piece in source.changed:
        if piece in bands_of(source):
            continue  # its marks are told zone by zone
        for mark in marks_of(source, piece):
            pieces.append(piece)
            what = f"{mark.kind} " if mark.kind != "mark" else ""
            sentences.append(
                Sentence(
                    f"{source.title(piece)}: {what}‘{mark.name}’, {source.said(mark.along_mm)} "
                    f"from {mark.origin}, along the new {mark.edge}.",
                    (("along_mm", mark.along_mm),),
                )
            )
    if sentences:
        sentences.append(
            Sentence(
                "Dart tips, drill marks and inner lines have their measures on the page of the "
                "piece."
            )
        )
        yield Step(0, "Mark notches and landmarks", tuple(dict.fromkeys(pieces)), tuple(sentences))
