"""Girths that are asked about, in words and figures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.counts import say_range
from propagate.geometry.arrays import Array
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, list_words, name_title, piece_title
from propagate.report.asking_text import Asked, say_run
from propagate.report.units import MILLIMETRES
from propagate.suggesting.girths import FoundGirth

__all__ = ["asked_of_girths"]

_ASKED = (
    "These girths of the finished garment, darts and pleats closed, would be told with every "
    "change. Is all of this so?"
)


def asked_of_girths(pattern: PatternSet, found: Sequence[FoundGirth]) -> Asked:
    """Put girths in words, as one question."""
    sides = tuple((one.girth.name, _say_girth(pattern, one)) for one in found)
    return Asked("Girths", _ASKED, sides, (), (), (), None, False)


def _say_girth(pattern: PatternSet, found: FoundGirth) -> str:
    """Say where a girth is measured and how large it is, in the base size."""
    at = pattern.sizes.index(pattern.base)
    several, times = len(found.parts) > 1, found.girth.times
    figures = " + ".join(MILLIMETRES.length(float(mm[at])) for _, mm in found.parts)
    if times > 1:
        figures = f"{times} x {f'({figures})' if several else figures}"
    total = MILLIMETRES.said(float(found.totals[at]))
    if several or times > 1:
        total = f"{figures} = {total}"
    words = f"{_say_place(pattern, found)}: {total} in size {pattern.base}"
    if len(pattern.sizes) > 1:
        words += f", {_say_steps(found.totals)}"
    if found.body is not None:
        words += f"; {_say_range(found.totals - found.body)} more than the body"
    return words


def _say_place(pattern: PatternSet, found: FoundGirth) -> str:
    whats = [what for what, _ in found.parts]
    if found.girth.level is None:
        return list_words([say_run(pattern, what) for what in whats if not isinstance(what, str)])
    pieces = [pattern.relations.lead_of(name) for name in found.girth.silhouettes]
    across = list_words([in_sentence(piece_title(pattern, piece)) for piece in pieces])
    if found.place:
        return f"across {across}, {MILLIMETRES.said(found.below)} below the {found.place}"
    level = in_sentence(name_title(pattern, found.girth.level, pieces[0]))
    return f"across {across}, on the level {level}"


def _say_steps(totals: Array) -> str:
    """Say by how much a girth grows from size to size."""
    steps = np.diff(totals)
    if (steps < 0.0).any():
        return f"{_say_range(totals)} over the sizes"
    return f"grows by {_say_range(steps)} a size"


def _say_range(values: Array) -> str:
    low, high = (MILLIMETRES.length(float(mm)) for mm in (values.min(), values.max()))
    return f"{say_range(low, high)} {MILLIMETRES.name}"
