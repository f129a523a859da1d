"""Swing the opening, re-seat and trim the layers behind it, cut the silhouette apart."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from propagate.engine.rows import OpeningRow
from propagate.geometry.polyline import locate
from propagate.pattern.relations import Opening, Stack, StackLayer
from propagate.pattern.titles import list_words, say_turn
from propagate.report.worksheet.lengths import shown
from propagate.report.worksheet.true_steps import side_corner, taped
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source

__all__ = ["cut_apart_steps", "ends_of", "layer_steps", "layers_of", "opening_steps"]


def layers_of(source: Source) -> dict[str, tuple[Stack, StackLayer]]:
    """Changed layers of pockets; a layer that was revised by a drawing is redrawn instead."""
    return {
        layer.piece: (stack, layer)
        for stack in source.relations.stacks.values()
        for layer in stack.layers
        if layer.piece in source.changed and layer.piece not in source.given
    }


def ends_of(source: Source, opening: Opening) -> tuple[float, float]:
    """Distances of the opening's two ends from the side corner, on the new lines, mm."""
    whole = taped(source, opening.silhouette)
    corner = side_corner(whole, opening)
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
    """The pin, the swing and the landing."""
    for (piece, _edge), opening in source.openings.items():
        rows = {row.opening: row for row in source.record.openings}
        row = rows.get(opening.name)
        pin, landing = ends_of(source, opening)
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
            sentences += _swing(source, row, opening)
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


def _swing(source: Source, row: OpeningRow, opening: Opening) -> list[Sentence]:
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
    if shown(row.slid_mm, source.unit):
        found.append(
            Sentence(
                f"The pin slid along {across} by {source.said(abs(row.slid_mm))} "
                "so that the opening reaches.",
                (("slid_mm", row.slid_mm),),
            )
        )
    return found


def layer_steps(source: Source) -> Iterable[Step]:
    """One step for each pocket: register the layers, trim through all."""
    layers = layers_of(source)
    for stack in source.relations.stacks.values():
        mine = [layer for layer in stack.layers if layer.piece in layers]
        if not mine:
            continue
        opening = source.relations.openings[stack.opening]
        sentences = [_seat(source, layer, opening) for layer in mine]
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


def _seat(source: Source, layer: StackLayer, opening: Opening) -> Sentence:
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
    """The silhouette is parted again along its split line."""
    for opening in source.openings.values():
        assembly = source.relations.assemblies.get(opening.silhouette)
        if assembly is None:
            continue
        parts = [part.piece for part in assembly.parts if part.piece in source.changed]
        if not parts:
            continue
        cut = [part for part in parts if part in layers_of(source)]
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
