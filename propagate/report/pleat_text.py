"""The pleats and tucks of a set, in words."""

from __future__ import annotations

from propagate.engine.pleats import pleat_words
from propagate.pattern.patternset import PatternSet
from propagate.pattern.pleats import Pleats, folded_run
from propagate.report.layout import entries, heading
from propagate.report.units import Unit

__all__ = ["pleat_lines", "pleats_plain"]


def pleat_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The pleats: in which run, how many and how deep, and what stays when it changes."""
    pairs = [(name, _words(pattern, one, unit)) for name, one in pattern.relations.pleats.items()]
    return heading("pleats and tucks") + entries(pairs) if pairs else []


def _words(pattern: PatternSet, pleats: Pleats, unit: Unit) -> str:
    lies = folded_run(pattern.sized(pleats.run[0].piece, pattern.base), pleats)
    stays = "their depth stays" if pleats.keep == "depth" else "their depth goes with the run"
    return f"{pleats.run[0]}: {pleat_words(pleats, lies, unit.said)}; {stays}"


def pleats_plain(pattern: PatternSet) -> list[dict[str, object]]:
    """The same as plain values, mm."""
    return [
        {
            "name": one.name,
            "run": [str(span) for span in one.run],
            "pleats": {row.name: list(row.marks) for row in one.pleats},
            "fold": one.fold,
            "depth": one.depth,
            "keep": one.keep,
        }
        for one in pattern.relations.pleats.values()
    ]
