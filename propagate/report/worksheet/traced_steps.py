"""What tracing does: true corners, swing the opening, re-seat its layers, cut it apart."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from propagate.engine.main_sides import main_sides
from propagate.engine.rows import OpeningRow
from propagate.engine.tape import Silhouette, tape
from propagate.geometry.polyline import locate
from propagate.pattern.relations import Opening, Seam, Stack, StackLayer
from propagate.pattern.titles import list_words, say_turn
from propagate.report.units import is_shown, say_angle
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source

__all__ = ["at_top", "corner_steps", "cut_apart_steps", "layer_steps", "opening_steps"]
_STRAIGHT_DEG = 0.1
"""An angle across a seam that is off a straight line by less is one, to a hand."""


def _layers_of(source: Source) -> dict[str, tuple[Stack, StackLayer]]:
    """Find changed layers of pockets; one that was revised by a drawing is redrawn instead."""
    return {
        layer.piece: (stack, layer)
        for stack in source.relations.stacks.values()
        for layer in stack.layers
        if layer.piece in source.changed and layer.piece not in source.given
    }


def _ends_of(source: Source, opening: Opening) -> tuple[float, float]:
    """Return distances of the opening's two ends from the side corner, on the new lines, mm."""
    whole = _tape_silhouette(source, opening.silhouette)
    corner = _side_corner(whole, opening)
    line = source.sized(opening.piece).edge(opening.edge).points
    found = []
    for name, end in (
        (opening.across, opening.across_end),
        (opening.side, opening.side_end),
    ):
        points = whole.edge(name).points
        if np.hypot(*(points[0] - corner)) > np.hypot(*(points[-1] - corner)):
            points = points[::-1]
        found.append(locate(points, line[0 if end == "start" else -1])[0])
    return found[0], found[1]


def opening_steps(source: Source) -> Iterable[Step]:
    """Yield the pin, the swing and the landing."""
    for (piece, _edge), opening in source.openings.items():
        rows = {row.opening: row for row in source.record.openings}
        row = rows.get(opening.name)
        pin, landing = _ends_of(source, opening)
        across, side = (
            source.called(edge, opening.silhouette) for edge in (opening.across, opening.side)
        )
        corner = f"the corner of {across} and {side}"
        size = row.size if row else source.taken(piece)
        sentences = [
            Sentence(
                f"Trace the line of the opening of {source.title(piece)}, size {size}, on thin "
                "paper: it is laid as it is, never stretched."
            ),
            Sentence(
                f"Pin the end of the tracing that meets the {across} on the new "
                f"{across}, {source.said(pin)} from {corner}, with the grain of the "
                f"tracing parallel to that of {source.title(piece)}.",
                (("across_mm", pin),),
            ),
        ]
        if row is not None:
            sentences += _tell_swing(source, row, opening)
        sentences.append(
            Sentence(
                f"Its other end lands on the new {side}, {source.said(landing)} from "
                f"{corner}. Trace it there.",
                (("side_mm", landing),),
            )
        )
        yield Step(
            0, f"Swing the opening ‘{source.called(opening.name)}’", (piece,), tuple(sentences)
        )


def _tell_swing(source: Source, row: OpeningRow, opening: Opening) -> list[Sentence]:
    turned, moved = row.swing_deg, row.moved_mm
    across = source.called(opening.across, opening.silhouette)
    found = []
    if round(abs(turned), 1) > 0.0:
        found.append(
            Sentence(
                f"From there swing it about the pin by {say_turn(turned)}, seen as the "
                f"piece is drawn in its step: the far end moves by {source.said(moved)}.",
                (("swing_deg", turned), ("moved_mm", moved)),
            )
        )
    if is_shown(row.slid_mm, source.unit):
        found.append(
            Sentence(
                f"The pin slid along {across} by {source.said(abs(row.slid_mm))} "
                "so that the opening reaches.",
                (("slid_mm", row.slid_mm),),
            )
        )
    return found


def layer_steps(source: Source) -> Iterable[Step]:
    """Yield one step for each pocket: register the layers, trim through all."""
    layers = _layers_of(source)
    for stack in source.relations.stacks.values():
        mine = [layer for layer in stack.layers if layer.piece in layers]
        if not mine:
            continue
        opening = source.relations.openings[stack.opening]
        sentences = [_tell_seat(source, layer, opening) for layer in mine]
        rides = sorted(
            {
                source.called(ride, opening.silhouette)
                for layer in mine
                for ride in layer.ride.values()
            }
        )
        if rides:
            sentences.append(
                Sentence(
                    f"Pin all layers flat. Trim through all of them along the new outline "
                    f"({list_words(rides)}); first tape paper under where a layer ends inside it."
                )
            )
        sentences += [
            Sentence(
                f"{source.title(layer.piece)} shows when worn: draw its grain line parallel to "
                "that of the piece it lies behind."
            )
            for layer in mine
            if layer.shows
        ]
        pieces = tuple(layer.piece for layer in mine)
        yield Step(0, f"Re-seat the layers ‘{source.called(stack.name)}’", pieces, tuple(sentences))


def _tell_seat(source: Source, layer: StackLayer, opening: Opening) -> Sentence:
    put = [
        f"{source.landmark(layer.piece, own)} on {source.landmark(opening.piece, theirs)}"
        for own, theirs in layer.put
    ]
    side = ", face down" if layer.face_down else ""
    where = "of the new opening" if (opening.piece, opening.edge) in source.openings else ""
    return Sentence(
        f"Lay {source.title(layer.piece)}, size {source.taken(layer.piece)}{side}: put "
        f"{list_words(put)} {where}".rstrip()
        + "."
    )


def cut_apart_steps(source: Source) -> Iterable[Step]:
    """Yield the steps that part silhouettes again along their split lines."""
    for opening in source.openings.values():
        assembly = source.relations.assemblies.get(opening.silhouette)
        if assembly is None:
            continue
        parts = [part.piece for part in assembly.parts if part.piece in source.changed]
        if not parts:
            continue
        cut = [part for part in parts if part in _layers_of(source)]
        rest = [part for part in parts if part not in cut]
        text = (
            f"Cut ‘{source.called(assembly.name)}’ along the line of the opening. What lies inside "
            f"is {source.title(assembly.lead)}."
        )
        if rest:
            text += f" The corner beyond is {source.titles(rest)}."
        if cut:
            text += (
                f" {source.titles(cut)} "
                f"{'is' if len(cut) == 1 else 'are'} cut already, with the layers: put away what "
                "was taped on to draw the lines."
            )
        pieces = (assembly.lead, *parts)
        yield Step(0, "Cut apart along the split line", pieces, (Sentence(text),))


def _tape_silhouette(source: Source, silhouette: str) -> Silhouette:
    """Return A silhouette as it is in the result."""
    return tape(source.pattern, silhouette, source.record.size)


def _side_corner(whole: Silhouette, opening: Opening) -> np.ndarray:
    """Return the corner of the crossing edge and the side: (2,) mm, in the lead's frame."""
    across, side = whole.edge(opening.across).points, whole.edge(opening.side).points
    ends = [(float(np.hypot(*(a - b))), a) for a in across[[0, -1]] for b in side[[0, -1]]]
    return np.asarray(min(ends, key=lambda item: item[0])[1])


def corner_steps(source: Source) -> Iterable[Step]:
    """True the corners across every seam with a crossing edge that changed."""
    sentences, pieces = [], []
    for seam in source.relations.seams.values():
        for end in seam.crossing:
            said, names = _tell_corner(source, seam, end)
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


def _tell_corner(source: Source, seam: Seam, end: str) -> tuple[Sentence | None, list[str]]:
    keys = [key.partition(".") for key in seam.crossing[end]]
    pieces = [piece for piece, _, _ in keys]
    if any(piece not in source.changed for piece in pieces):
        return None, []
    touched = [f"{p}.{e}" for p, _, e in keys if e in source.changed_edges(p)]
    row = _find_angles(source, seam, end)
    if not touched or row is None:
        return None, []
    mates = " and ".join(dict.fromkeys(source.taped_edge(p, e) for p, _, e in keys))
    told, measures = f"together {say_angle(row[2])}", [("sum_deg", row[2])]
    if row[0] is not None and row[1] is not None:
        both = say_angle(row[0]), say_angle(row[1])
        added = sum(float(said.rstrip("°")) for said in both)
        if say_angle(added) != say_angle(row[2]):  # what is rounded should not look like a mistake
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
            f" They were trued: {say_angle(trued.before_deg)} before, and the lines moved by "
            f"{source.said(trued.shift_mm)} at most, within {source.said(trued.over_mm)} of the "
            "corner."
        )
        measures += [
            ("before_deg", trued.before_deg),
            ("shift_mm", trued.shift_mm),
            ("over_mm", trued.over_mm),
        ]
    return Sentence(text, tuple(measures)), pieces


def _find_angles(
    source: Source, seam: Seam, end: str
) -> tuple[float | None, float | None, float] | None:
    """Return both angles where the record has them, and their sum."""
    record = source.record
    for row in record.top_corners:
        if row.name == seam.name and at_top(source, seam, end):
            return row.first, row.second, row.found_sum
    for corner in record.walked_corners:
        if (corner.relation, corner.end) == (seam.name, end):
            return None, None, corner.first
    return None


def at_top(source: Source, seam: Seam, end: str) -> bool:
    """Tell whether an end of a seam between a blend's mains is the one at their crossing edges."""
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
