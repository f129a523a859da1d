"""The rows of buttons of a set, in words."""

from __future__ import annotations

from propagate.pattern.buttons import Buttons
from propagate.pattern.patternset import PatternSet
from propagate.report.layout import entries, heading
from propagate.report.units import Unit

__all__ = ["button_lines", "buttons_plain"]


def button_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The rows of buttons: along which edges, and how they are spaced."""
    pairs = [(name, _words(one, unit)) for name, one in pattern.relations.buttons.items()]
    return heading("buttons") + entries(pairs) if pairs else []


def _words(buttons: Buttons, unit: Unit) -> str:
    sides = " | ".join(
        f"'{mark}' along {span}"
        for run, mark in zip(buttons.sides, buttons.marks, strict=True)
        for span in run
    )
    start, end, spacing = (unit.length(mm) for mm in (buttons.start, buttons.end, buttons.spacing))
    return (
        f"{sides}: {start} {unit.name} from the start, {end} {unit.name} from the end, at most "
        f"{spacing} {unit.name} apart"
    )


def buttons_plain(pattern: PatternSet) -> list[dict[str, object]]:
    """The same as plain values, mm."""
    return [
        {
            "name": one.name,
            "sides": [[str(span) for span in run] for run in one.sides],
            "marks": list(one.marks),
            "start": one.start,
            "end": one.end,
            "spacing": one.spacing,
        }
        for one in pattern.relations.buttons.values()
    ]
