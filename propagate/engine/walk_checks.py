"""What is measured of each kind of relation when a set is walked.

Each function takes what is walked and one relation, and gives its checks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from propagate.engine.finish import CutLine, cut_line
from propagate.engine.levels import girth_length
from propagate.engine.rows import Check, Verdict
from propagate.geometry.polyline import length
from propagate.pattern.beside import length_beside
from propagate.pattern.ease import fullness_words, zone_ease
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


def walk_seam(on: Walked, seam: Seam) -> list[Check]:
    """Lengths, notch pairs and corner angles of a seam."""
    checks = []
    if not seam.mirror:
        checks.append(_check_seam(on, seam))
        checks += _check_notches(on.piece, seam, on.size)
    return checks + check_corners(on.piece, seam)


def walk_opening(on: Walked, opening: Opening) -> list[Check]:
    """An opening against the layer that carries its line, and its ends on the others."""
    return [
        _check_opening(on.pattern, on.piece, opening),
        *_check_layers(on.pattern, on.piece, opening),
    ]


def walk_band(on: Walked, band: Band) -> list[Check]:
    """Each zone of a band against its run."""
    return _check_band(on.piece, band, on.size)


def walk_girth(on: Walked, girth: Girth) -> list[Check]:
    """A finished girth against the body."""
    return [_check_girth(on.pattern, girth, on.size)]


def verdict_of(difference: float, tolerance: float) -> Verdict:
    """What a difference in mm means; "look" is within tolerance but worth a glance."""
    if abs(difference) <= min(_NEAR_MM, tolerance):
        return "sews"
    return "look" if abs(difference) <= tolerance else "does not sew"


def _write_mm(amount: float) -> str:
    return f"{amount:g} mm"


def _join_sides(sides: Sequence[str]) -> str:
    """Sides in words; one that is empty is left out."""
    return " | ".join(side for side in sides if side)


def _check_seam(on: Walked, seam: Seam) -> Check:
    first, second = run_length(on.piece, seam.lead), run_length(on.piece, seam.follow)
    ease = seam_ease(on.piece, seam, on.size, (first, second)).total
    difference = second - first - ease
    sides = run_words(seam.lead), run_words(seam.follow)
    return Check(
        "seam",
        seam.name,
        _join_sides(sides),
        first,
        second,
        ease,
        difference,
        seam.tolerance,
        verdict_of(difference, seam.tolerance),
        _cut_line_difference(on, seam, ease) if on.cut_lines else None,
        sides=sides,
        meant=fullness_words(seam.ease, on.size, _write_mm) or None,
    )


def _cut_line_difference(on: Walked, seam: Seam, ease: float) -> float:
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


def _check_notches(lookup: Callable[[str], SizedPiece], seam: Seam, size: str) -> list[Check]:
    checks = []
    for lead, follow in seam.notches:
        sides = []
        for name, run in ((lead, seam.lead), (follow, seam.follow)):
            piece, _, landmark = name.partition(".")
            sides.append(distance_on_run(lookup, run, piece, landmark))
        if sides[0] is None or sides[1] is None:
            continue
        # Ease is spread along the seam, so a notch may be off by its share of it.
        ease = seam_ease(lookup, seam, size).before(sides[0])
        difference = sides[1] - sides[0] - ease
        checks.append(
            Check(
                "notches",
                seam.name,
                _join_sides((lead, follow)),
                sides[0],
                sides[1],
                ease,
                difference,
                seam.tolerance,
                verdict_of(difference, seam.tolerance),
                sides=(lead, follow),
            )
        )
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
    lead, follow = (
        _corner_edges(lookup, (run[0] if end == "start" else run[-1]).edge, crossing)
        for run, crossing in zip((seam.lead, twin), seam.crossing[end], strict=True)
    )
    return lead, follow


def _corner_edges(
    lookup: Callable[[str], SizedPiece], edge: str, crossing: str
) -> tuple[Edge, Edge]:
    """An edge and the one that crosses the seam at its corner."""
    piece_name, _, crossing_edge = crossing.partition(".")
    piece = lookup(piece_name)
    names = piece.edge_names
    i, j = names.index(edge), names.index(crossing_edge)
    first, second = (i, j) if (i + 1) % len(names) == j else (j, i)
    return piece.edges[first], piece.edges[second]


def _check_opening(
    pattern: PatternSet, lookup: Callable[[str], SizedPiece], opening: Opening
) -> Check:
    """An opening against the layer that carries its line, or against itself."""
    first = lookup(opening.piece).edge(opening.edge).length
    second, mouths = first, []
    stack = pattern.relations.stack_of.get(opening.name)
    for layer in stack.layers if stack is not None else ():
        if layer.mouth is not None:
            second = lookup(layer.piece).edge(layer.mouth).length
            mouths.append(f"{layer.piece}.{layer.mouth}")
    sides = f"{opening.piece}.{opening.edge}", _join_sides(mouths)
    return Check(
        "opening",
        opening.name,
        _join_sides(sides),
        first,
        second,
        0.0,
        second - first,
        opening.tolerance,
        verdict_of(second - first, opening.tolerance),
        sides=sides,
    )


def _check_layers(
    pattern: PatternSet, lookup: Callable[[str], SizedPiece], opening: Opening
) -> list[Check]:
    """The two ends of an opening on each layer that is put on it by landmarks."""
    checks = []
    stack = pattern.relations.stack_of.get(opening.name)
    for layer in stack.layers if stack is not None else ():
        if layer.mouth is not None:
            continue  # it carries the whole line, which is measured
        (own, theirs), (own_end, their_end) = layer.put[0], layer.put[-1]
        first, second = (
            math.dist(piece.landmark(begin).point, piece.landmark(end).point)
            for piece, begin, end in (
                (lookup(opening.piece), theirs, their_end),
                (lookup(layer.piece), own, own_end),
            )
        )
        sides = f"ends of {opening.piece}.{opening.edge}", f"{layer.piece}.{own} to {own_end}"
        checks.append(
            Check(
                "opening",
                f"{opening.name} {layer.piece}",
                _join_sides(sides),
                first,
                second,
                0.0,
                second - first,
                opening.tolerance,
                verdict_of(second - first, opening.tolerance),
                relation=opening.name,
                part=layer.piece,
                sides=sides,
            )
        )
    return checks


def _check_band(lookup: Callable[[str], SizedPiece], band: Band, size: str) -> list[Check]:
    piece = lookup(band.piece)
    checks = []
    for zone in band.zones:
        if not zone.run:
            continue
        begin, end = piece.distance(band.sewn, zone.begin), piece.distance(band.sewn, zone.end)
        wanted = length_beside(lookup, zone.run, zone)
        ease = zone_ease(zone.ease, size, wanted, end - begin)
        difference = wanted - (end - begin) - ease
        sides = f"{band.piece}.{band.sewn}", run_words(zone.run)
        checks.append(
            Check(
                "band",
                f"{band.name} {zone.name}",
                _join_sides(sides),
                end - begin,
                wanted,
                ease,
                difference,
                band.tolerance,
                verdict_of(difference, band.tolerance),
                relation=band.name,
                part=zone.name,
                sides=sides,
                meant=fullness_words(zone.ease, size, _write_mm) or None,
            )
        )
    return checks


def _check_girth(pattern: PatternSet, girth: Girth, size: str) -> Check:
    """A finished girth against the body; the difference is the ease that it has."""
    measured = girth_length(pattern, girth, size)
    if girth.level is None:
        what = ", ".join(run_words(run) for run in girth.runs)
    else:
        what = f"level '{girth.level}' across {', '.join(girth.silhouettes)}"
    body = pattern.chart.get(girth.chart or "", {}).get(size)
    ease = 0.0 if body is None else measured - body
    return Check(
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
