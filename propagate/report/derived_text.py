"""What a set derives from its main pieces, and what is open in its seams, in words."""

from __future__ import annotations

from typing import Any

from propagate.pattern.amount import Amount
from propagate.pattern.derived import Derived, DerivedEdge, Width
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import SeamOpening
from propagate.report.layout import entries, heading
from propagate.report.units import Unit

__all__ = ["derived_lines", "derived_plain", "seam_opening_lines"]

_CHANGES = {
    "keep": "keeps its length",
    "nearest": "takes the nearest length on offer",
    "conflict": "may not change its length",
}


def seam_opening_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The openings in seams: their sides, and what becomes of their length."""
    openings = pattern.relations.seam_openings
    pairs = [(name, _opening_words(one, unit)) for name, one in openings.items()]
    return heading("openings in seams") + entries(pairs) if pairs else []


def _opening_words(opening: SeamOpening, unit: Unit) -> str:
    sides = " | ".join(str(span) for run in opening.sides for span in run)
    offer = ", ".join(unit.length(one) for one in opening.lengths)
    bought = f"; on offer {offer} {unit.name}" if offer else ""
    return f"{sides}: {_CHANGES[opening.change]}{bought}"


def derived_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The derived pieces: of what, along which lines, with which darts closed."""
    pairs = [(name, _derived_words(one, unit)) for name, one in pattern.relations.derived.items()]
    return heading("derived pieces") + entries(pairs) if pairs else []


def _derived_words(derived: Derived, unit: Unit) -> str:
    edges = ", ".join(_edge_words(one, unit) for one in derived.edges)
    on = " and ".join(derived.closed_edges)
    closed = f"; darts on {on} closed" if on else ""
    on = " and ".join(derived.pleated_edges)
    pleated = f"; darts on {on} are pleats, with a notch at each leg" if on else ""
    return f"of {derived.of}: {edges}{closed}{pleated}"


def _edge_words(one: DerivedEdge, unit: Unit) -> str:
    line = f"the cut line of {one.on}" if one.from_cut else one.on or f"line {one.line}"
    if isinstance(one.out, Amount) or isinstance(one.inside, Amount):
        said = [
            (_width_words(one.out, unit), "outside"),
            (_width_words(one.inside, unit), "inside"),
        ]
        words = " and ".join(f"{width} {side}" for width, side in said if width)
        return f"{one.edge} {words} of {line}"
    by = one.out - one.inside
    if by == 0.0:
        return f"{one.edge} on {line}"
    return f"{one.edge} {unit.said(abs(by))} {'outside' if by > 0.0 else 'inside'} of {line}"


def _width_words(width: Width, unit: Unit) -> str:
    """A width, or each size and its own; nothing where there is none."""
    if isinstance(width, Amount):
        return ", ".join(f"{unit.said(mm)} in size {size}" for size, mm in width.sizes)
    return unit.said(width) if width else ""


def derived_plain(pattern: PatternSet) -> dict[str, Any]:
    """Derived pieces and openings in seams as plain values."""
    relations = pattern.relations
    return {
        "seam_openings": [
            {"name": one.name, "sides": [[str(span) for span in run] for run in one.sides]}
            for one in relations.seam_openings.values()
        ],
        "derived": [{"piece": one.piece, "of": one.of} for one in relations.derived.values()],
    }
