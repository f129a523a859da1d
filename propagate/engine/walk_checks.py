"""What is measured of each kind of relation when a set is walked.

Each function takes what is walked and one relation, and gives its checks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Protocol

from propagate.engine.finish import CutLine, cut_line
from propagate.engine.levels import girth_length
from propagate.engine.rows import Check, Verdict
from propagate.geometry.polyline import length
from propagate.pattern.beside import length_beside
from propagate.pattern.ease import EaseSaid, fullness_words, zone_ease
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Girth, Opening, Seam
from propagate.pattern.runs import run_words
from propagate.pattern.spans import distance_on_run, run_length, span_length
from propagate.tolerances import CORNER_WALK_DEG, WALK_MM
from propagate.values import dataclass

__all__ = [
    "Walked",
    "check_corners",
    "compare_sides",
    "corner_angles",
    "corner_edges",
    "verdict_of",
    "walk_band",
    "walk_girth",
    "walk_opening",
    "walk_seam",
]

_NEAR_MM = 0.5
"""Within this a seam needs no second look (well inside the trade's 1/16 in)."""


@dataclass(frozen=True)
class Walked:
    """A set in the size that is walked; `cut_lines`: tell what those would have said too."""

    pattern: PatternSet
    size: str
    cut_lines: bool = True

    def piece(self, name: str) -> SizedPiece:
        """Return a piece in the size."""
        return self.pattern.sized(name, self.size)

    def cut_line(self, name: str) -> CutLine:
        """Return the cut line of a piece."""
        return cut_line(self.piece(name), self.pattern.info[name])


class Judged(Protocol):
    """A relation whose two sides are to agree within its tolerance, mm."""

    @property
    def name(self) -> str: ...

    @property
    def tolerance(self) -> float: ...


def verdict_of(difference: float, tolerance: float) -> Verdict:
    """What a difference in mm means; "look" is within tolerance but worth a glance."""
    if abs(difference) <= min(_NEAR_MM, tolerance):
        return "sews"
    return "look" if abs(difference) <= tolerance else "does not sew"


def compare_sides(
    kind: str,
    relation: Judged,
    sides: tuple[str, str],
    first: float,
    second: float,
    ease: float = 0.0,
    *,
    part: str = "",
    meant: str | None = None,
    by_cut_lines: float | None = None,
) -> Check:
    """Check two lengths, mm, that are to differ by an ease alone.

    Parameters
    ----------
    kind : str
        Word of the kind of check.
    relation : Judged
    sides : (str, str)
        What was measured; the second is empty where it has no name.
    first, second, ease : float
    part : str
        Zone or layer of the relation; empty for the whole.
    meant : str or None
        What is meant beside lengths, in words.
    by_cut_lines : float or None
        What the cut lines would have said.
    """
    difference = second - first - ease
    return Check(
        kind,
        f"{relation.name} {part}" if part else relation.name,
        _join_sides(sides),
        first,
        second,
        ease,
        difference,
        relation.tolerance,
        verdict_of(difference, relation.tolerance),
        by_cut_lines,
        meant,
        relation=relation.name,
        part=part,
        sides=sides,
    )


def _join_sides(sides: Sequence[str]) -> str:
    """Sides in words; one that is empty is left out."""
    return " | ".join(side for side in sides if side)


def _say_meant(ease: EaseSaid, size: str) -> str | None:
    return fullness_words(ease, size, lambda amount: f"{amount:g} mm") or None


def walk_seam(on: Walked, seam: Seam) -> list[Check]:
    """Lengths, notch pairs and corner angles of a seam."""
    if seam.mirror:
        return check_corners(on.piece, seam)
    first, second = run_length(on.piece, seam.lead), run_length(on.piece, seam.follow)
    ease = seam_ease(on.piece, seam, on.size, (first, second)).total
    whole = compare_sides(
        "seam",
        seam,
        (run_words(seam.lead), run_words(seam.follow)),
        first,
        second,
        ease,
        meant=_say_meant(seam.ease, on.size),
        by_cut_lines=_compare_cut_lines(on, seam, ease) if on.cut_lines else None,
    )
    return [whole, *_check_notches(on, seam), *check_corners(on.piece, seam)]


def _compare_cut_lines(on: Walked, seam: Seam, ease: float) -> float:
    """Difference of the two cut lines along a seam: the whole edges of both runs."""
    totals = []
    for run in (seam.lead, seam.follow):
        total = 0.0
        for span in run:
            piece = on.piece(span.piece)
            stretches = on.cut_line(span.piece).stretches[span.edge]
            share = span_length(piece, span) / piece.edge(span.edge).length
            total += sum(length(stretch) for stretch in stretches) * share
        totals.append(total)
    return totals[1] - totals[0] - ease


def _check_notches(on: Walked, seam: Seam) -> list[Check]:
    checks = []
    for pair in seam.notches:
        first, second = (
            distance_on_run(on.piece, run, *name.split(".", 1))
            for name, run in zip(pair, (seam.lead, seam.follow), strict=True)
        )
        if first is not None and second is not None:
            # Ease is spread along the seam, so a notch may be off by its share of it.
            ease = seam_ease(on.piece, seam, on.size).before(first)
            checks.append(compare_sides("notches", seam, pair, first, second, ease))
    return checks


def check_corners(lookup: Callable[[str], SizedPiece], seam: Seam) -> list[Check]:
    """Corner angles across a seam: the crossing edges should run on smoothly.

    A corner that is off makes a peak or a dip; it still sews, so it is for a look, unless the
    seam says that it is meant.
    """
    checks = []
    for end, (lead_edge, follow_edge) in seam.crossing.items():
        angles = corner_angles(lookup, seam, end)
        total, sides = angles[0] + angles[1], (lead_edge, follow_edge)
        meant = end in seam.peak
        lead = round(angles[0], 1)  # the other is what is left of the sum, as it is printed
        said = f"{_join_sides(sides)}, at the {end}: {lead:.1f}° + {total - lead:.1f}°"
        checks.append(
            Check(
                "corner",
                seam.name,
                f"{said}, a peak that is meant" if meant else said,
                total,
                180.0,
                0.0,
                total - 180.0,
                CORNER_WALK_DEG,
                "sews" if meant or abs(180.0 - total) <= 1.0 else "look",
                sides=sides,
                end=end,
            )
        )
    return checks


def corner_angles(lookup: Callable[[str], SizedPiece], seam: Seam, end: str) -> tuple[float, float]:
    """The corner angles of lead and follower at an end of a seam, degrees."""
    (before, after), (first, second) = corner_edges(lookup, seam, end)
    return before.angle_to(after), first.angle_to(second)


def corner_edges(
    lookup: Callable[[str], SizedPiece], seam: Seam, end: str
) -> tuple[tuple[Edge, Edge], tuple[Edge, Edge]]:
    """The edges that meet at an end of a seam, of lead and follower, each in outline order."""
    twin = seam.lead if seam.mirror else seam.follow
    found = []
    for run, crossing in zip((seam.lead, twin), seam.crossing[end], strict=True):
        name, _, other = crossing.partition(".")
        piece = lookup(name)
        names = piece.edge_names
        i, j = names.index((run[0] if end == "start" else run[-1]).edge), names.index(other)
        first, second = (i, j) if (i + 1) % len(names) == j else (j, i)
        found.append((piece.edges[first], piece.edges[second]))
    return found[0], found[1]


def walk_opening(on: Walked, opening: Opening) -> list[Check]:
    """An opening against the layer that carries its line, and its ends on the others.

    Without such a layer it is measured against itself.
    """
    line, main = f"{opening.piece}.{opening.edge}", on.piece(opening.piece)
    first = second = main.edge(opening.edge).length
    mouths, ends = [], []
    stack = on.pattern.relations.stack_of.get(opening.name)
    for layer in stack.layers if stack is not None else ():
        piece = on.piece(layer.piece)
        if layer.mouth is not None:
            second = piece.edge(layer.mouth).length
            mouths.append(f"{layer.piece}.{layer.mouth}")
            continue
        (own, theirs), (own_end, their_end) = layer.put[0], layer.put[-1]
        wanted, found = (
            math.dist(one.landmark(begin).point, one.landmark(end).point)
            for one, begin, end in ((main, theirs, their_end), (piece, own, own_end))
        )
        sides = f"ends of {line}", f"{layer.piece}.{own} to {own_end}"
        ends.append(compare_sides("opening", opening, sides, wanted, found, part=layer.piece))
    return [compare_sides("opening", opening, (line, _join_sides(mouths)), first, second), *ends]


def walk_band(on: Walked, band: Band) -> list[Check]:
    """Each zone of a band against its run."""
    piece, checks = on.piece(band.piece), []
    for zone in band.zones:
        if not zone.run:
            continue
        begin, end = piece.distance(band.sewn, zone.begin), piece.distance(band.sewn, zone.end)
        wanted = length_beside(on.piece, zone.run, zone)
        ease = zone_ease(zone.ease, on.size, wanted, end - begin)
        sides = f"{band.piece}.{band.sewn}", run_words(zone.run)
        meant = _say_meant(zone.ease, on.size)
        checks.append(
            compare_sides(
                "band", band, sides, end - begin, wanted, ease, part=zone.name, meant=meant
            )
        )
    return checks


def walk_girth(on: Walked, girth: Girth) -> list[Check]:
    """A finished girth against the body; the difference is the ease that it has."""
    measured = girth_length(on.pattern, girth, on.size)
    if girth.level is None:
        what = ", ".join(run_words(run) for run in girth.runs)
    else:
        what = f"level '{girth.level}' across {', '.join(girth.silhouettes)}"
    body = on.pattern.chart.get(girth.chart or "", {}).get(on.size)
    ease = 0.0 if body is None else measured - body
    return [
        Check(
            "girth",
            girth.name,
            what,
            measured if body is None else body,
            measured,
            ease,
            0.0,
            WALK_MM,
            "look" if ease < -WALK_MM else "sews",
            sides=(what, ""),
        )
    ]
