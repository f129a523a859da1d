"""The welt openings of a set, in words."""

from __future__ import annotations

from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.pattern.welts import WeltOpening, WeltPart, part_span
from propagate.report.layout import entries, heading
from propagate.report.units import Unit

__all__ = ["welt_lines", "welts_plain"]


def welt_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The welt openings: on which line, how long, measured from what, and what is sewn to them."""
    pairs = [(name, _words(one, unit)) for name, one in pattern.relations.welt_openings.items()]
    return heading("welt openings") + entries(pairs) if pairs else []


def _words(opening: WeltOpening, unit: Unit) -> str:
    said = [f"the line '{opening.line}' of {opening.on}"]
    if opening.length is not None:
        lengths = [mm for _, mm in opening.length.sizes] or [opening.length.mm or 0.0]
        said.append(f"{', '.join(unit.length(mm) for mm in lengths)} {unit.name} long")
    said.append(f"measured from {' and '.join(opening.anchors) or 'the two nearest edges'}")
    parts = "; ".join(_part_words(part, unit) for part in opening.parts)
    return ", ".join(said) + (f": {parts}" if parts else "")


def _part_words(part: WeltPart, unit: Unit) -> str:
    beyond = f", {unit.said(part.beyond)} beyond at each end" if part.beyond else ""
    return f"{part_span(part)}{beyond}"


def welts_plain(pattern: PatternSet) -> list[dict[str, Any]]:
    """The same as plain values, mm."""
    return [
        {
            "name": one.name,
            "on": one.on,
            "line": one.line,
            "from": list(one.anchors),
            "parts": [
                {"piece": part.piece, "sewn": str(part_span(part)), "beyond": part.beyond}
                for part in one.parts
            ],
        }
        for one in pattern.relations.welt_openings.values()
    ]
