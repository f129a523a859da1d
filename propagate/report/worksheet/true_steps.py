"""True corners across seams, where lines were traced."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from propagate.engine.main_sides import main_sides
from propagate.engine.tape import Silhouette, tape
from propagate.pattern.relations import Opening, Seam
from propagate.report.worksheet.lengths import angle
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source

__all__ = ["at_top", "corner_steps", "side_corner", "taped"]

_STRAIGHT_DEG = 0.1
"""An angle across a seam that is off a straight line by less is one, to a hand."""


def taped(source: Source, silhouette: str) -> Silhouette:
    """A silhouette as it is in the result."""
    return tape(source.pattern, silhouette, source.record.size)


def side_corner(whole: Silhouette, opening: Opening) -> np.ndarray:
    """The corner of the crossing edge and the side: (2,) mm, in the lead's frame."""
    across, side = whole.edge(opening.across).points, whole.edge(opening.side).points
    ends = [(float(np.hypot(*(a - b))), a) for a in across[[0, -1]] for b in side[[0, -1]]]
    return np.asarray(min(ends, key=lambda item: item[0])[1])


def corner_steps(source: Source) -> Iterable[Step]:
    """True the corners across every seam with a crossing edge that changed."""
    sentences, pieces = [], []
    for seam in source.relations.seams.values():
        for end in seam.crossing:
            said, names = _corner(source, seam, end)
            if said is not None:
                sentences.append(said)
                pieces += names
    if sentences:
        last = "Where the line dips or peaks across the seam, redraw it smoothly there."
        if source.record.options.top == "traced":
            last = (
                "The top was traced, as asked: where it dips or peaks across the seam, leave it. "
                "Redrawing it would change the lengths."
            )
        sentences.append(Sentence(last))
        yield Step(0, "True the corners", tuple(dict.fromkeys(pieces)), tuple(sentences))


def _corner(source: Source, seam: Seam, end: str) -> tuple[Sentence | None, list[str]]:
    keys = [key.partition(".") for key in seam.crossing[end]]
    pieces = [piece for piece, _, _ in keys]
    if any(piece not in source.changed for piece in pieces):
        return None, []
    touched = [f"{p}.{e}" for p, _, e in keys if e in source.changed_edges(p)]
    row = _row(source, seam, end)
    if not touched or row is None:
        return None, []
    mates = " and ".join(dict.fromkeys(source.taped_edge(p, e) for p, _, e in keys))
    told, measures = f"together {angle(row[2])}", [("sum_deg", row[2])]
    if row[0] is not None and row[1] is not None:
        both = angle(row[0]), angle(row[1])
        added = sum(float(said.rstrip("°")) for said in both)
        if angle(added) != angle(row[2]):  # what is rounded should not look like a mistake
            straight = abs(row[2] - 180.0) < _STRAIGHT_DEG
            told = "together a straight line" if straight else f"{told} (each rounded)"
        told = f"{both[0]} and {both[1]}, {told}"
        measures = [("first_deg", row[0]), ("second_deg", row[1]), *measures]
    mirror = " to its mirrored twin" if seam.mirror else ""
    text = (
        f"At ‘{source.called(seam.name)}’ lay seam line on seam line as sewn{mirror}: the corners "
        f"of {mates} measure {told}."
    )
    for trued in source.record.trued_corners:
        if (trued.name, trued.end) != (seam.name, end):
            continue
        text += (
            f" They were trued: {angle(trued.before_deg)} before, and the lines moved by "
            f"{source.said(trued.shift_mm)} at most, within {source.said(trued.over_mm)} of the "
            "corner."
        )
        measures += [
            ("before_deg", trued.before_deg),
            ("shift_mm", trued.shift_mm),
            ("over_mm", trued.over_mm),
        ]
    return Sentence(text, tuple(measures)), pieces


def _row(source: Source, seam: Seam, end: str) -> tuple[float | None, float | None, float] | None:
    """Both angles where the record has them, and their sum."""
    record = source.record
    for row in record.top_corners:
        if row.name == seam.name and at_top(source, seam, end):
            return row.first, row.second, row.found_sum
    for corner in record.walked_corners:
        if (corner.relation, corner.end) == (seam.name, end):
            return None, None, corner.first
    return None


def at_top(source: Source, seam: Seam, end: str) -> bool:
    """Whether an end of a seam between a blend's mains is the one at their crossing edges."""
    plan = source.relations.blend
    if plan is None:
        return False
    _, pairs = main_sides(source.pattern, plan)
    if seam.name not in (pair.seam.name for pair in pairs):
        return False
    tops: set[str] = set()
    for main in plan.mains:
        assembly = source.relations.assemblies.get(main.silhouette)
        if assembly is None:
            tops.add(f"{main.silhouette}.{main.across}")
        else:
            tops |= {span.key for span in assembly.edges[main.across]}
    return all(key in tops for key in seam.crossing[end])
