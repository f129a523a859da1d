"""What can be wrong with what a set says of pleats and tucks."""

from __future__ import annotations

from propagate.pattern.names import Names
from propagate.pattern.pleats import PleatMarks, Pleats

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
