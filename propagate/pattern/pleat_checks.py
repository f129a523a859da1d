"""What can be wrong with what a set says of pleats and tucks."""

from __future__ import annotations

from propagate.pattern.model import Pleat
from propagate.pattern.names import Names
from propagate.pattern.pleats import PleatMarks, Pleats
from propagate.pattern.runs import Span
from propagate.tolerances import ON_LINE_MM

__all__ = ["check_pleats"]


def check_pleats(names: Names) -> None:
    """Check that the run is one span, and that each pleat has its marks there, and alone."""
    taken: dict[tuple[str, str], str] = {}
    for pleats in names.pattern.relations.pleats.values():
        where = f"pleats '{pleats.name}'"
        if len(pleats.run) != 1:
            names.add(
                f"{where}, run",
                f"found {' + '.join(map(str, pleats.run)) or 'nothing'}, expected one span",
            )
            continue
        if not pleats.pleats:
            names.add(where, "found no pleat, expected one or more with their marks")
        if pleats.depth is not None and (pleats.depth <= 0.0 or pleats.keep == "ratio"):
            names.add(
                f"{where}, depth",
                f"found {pleats.depth:g} mm"
                + (' beside keep = "ratio"' if pleats.keep == "ratio" else "")
                + ", expected how deep each is folded, where that is the same for every length",
            )
        for row in pleats.pleats:
            _check_marks(names, f"{where}, pleat '{row.name}'", pleats, row, taken)
            _check_darts(names, f"{where}, pleat '{row.name}'", pleats.run[0], row)


def _check_marks(
    names: Names, where: str, pleats: Pleats, row: PleatMarks, taken: dict[tuple[str, str], str]
) -> None:
    span = pleats.run[0]
    if not 2 <= len(row.marks) <= 4 or len(set(row.marks)) != len(row.marks):
        names.add(
            where,
            f"found the marks {', '.join(row.marks) or 'none'}, expected two to four landmarks "
            f"of '{span.key}'",
        )
    for mark in row.marks:
        if names.on_edge(where, span.piece, span.edge, mark) and mark in ("start", "end"):
            names.add(where, f"found '{mark}', expected a landmark that can move along the edge")
        other = taken.setdefault((span.piece, mark), where)
        if other != where:
            names.add(where, f"found '{mark}', which {other} has too, expected marks of its own")


def _check_darts(names: Names, where: str, span: Span, row: PleatMarks) -> None:
    """Check that no dart lies in what the pleat folds away: the cloth is taken up once."""
    for size in names.pattern.sizes:
        piece = names.sized(span.piece, size)
        known = () if piece is None else {mark.name for mark in piece.landmarks_on(span.edge)}
        if piece is None or not 2 <= len(row.marks) <= 4 or not {*row.marks} <= {*known}:
            continue
        at = sorted(piece.distance(span.edge, mark) for mark in row.marks)
        folds = [(at[a], at[b]) for a, b in Pleat(span.edge, row.marks).folds]
        for dart in piece.darts if span.edge in piece.edge_names else ():
            if dart.edge != span.edge:
                continue
            low, high = sorted(piece.distance(span.edge, leg) for leg in dart.legs)
            if any(min(high, b) - max(low, a) > ON_LINE_MM for a, b in folds):
                names.add(
                    where,
                    f"found dart '{dart.name}' within what it folds away in size {size}, expected "
                    "the two beside each other, since the cloth between them is taken up once; "
                    "move one of them, or leave the dart out and make the pleat deeper",
                )
                return
