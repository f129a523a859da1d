"""Propose openings, and the stacks of layers behind them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np

from propagate.pattern.relations import (
    Assembly,
    AssemblyPart,
    Opening,
    Run,
    Span,
    Stack,
    StackLayer,
)
from propagate.suggesting.claims import claim_mouth
from propagate.suggesting.layers import Layer, Pocket
from propagate.suggesting.mouths import Filling
from propagate.suggesting.nest import EdgeMeasure, Nest, measure_lean
from propagate.suggesting.proposal import PRIOR, Fact, Proposal, rank_proposals, say_gap
from propagate.suggesting.seams import EXPLAINED

__all__ = ["propose_openings", "propose_stacks"]

_End = Literal["start", "end"]

RIGID_MM = 0.05
"""An opening's edge changes by no more over the sizes."""


def propose_openings(nest: Nest, pockets: Sequence[Pocket]) -> list[Proposal]:
    """One proposal for each piece that may fill the corner behind a mouth."""
    count = Counter(pocket.mouth.piece for pocket in pockets)
    found = []
    for pocket in pockets:
        mouth = pocket.mouth
        of = mouth.piece if count[mouth.piece] == 1 else f"{mouth.piece}_{mouth.edge}"
        found += [_propose_opening(nest, pocket, fill, f"{of}_pocket") for fill in pocket.fillings]
    return rank_proposals(found)


def _propose_opening(nest: Nest, pocket: Pocket, fill: Filling, name: str) -> Proposal:
    mouth = pocket.mouth
    before, after = nest.beside(mouth)
    beside: dict[_End, EdgeMeasure] = {"start": before, "end": after}
    facts = [
        _judge_rigid(mouth),
        Fact(
            3.0,
            f"two landmarks of '{fill.piece}' ({fill.before.begin}, {fill.after.end}) are as far "
            f"apart as the ends of '{mouth.key}' in every size, within {say_gap(fill.gap)}",
        ),
    ]
    for (end, edge), turn in zip(beside.items(), fill.turns, strict=True):
        runs_on = f"'{edge.key}' runs on into '{fill.piece}' at the opening's {end}"
        weight = 2.0 if turn <= 1.0 else 1.0 if turn <= 3.0 else -1.0
        facts.append(Fact(weight, f"{runs_on} within {turn:.1f}°"))
    others = [layer.piece for layer in pocket.layers if layer.piece != fill.piece]
    if others:
        words = f"further layers fit the same line: {', '.join(sorted(set(others)))}"
        facts.append(Fact(min(1.0 * len(others), 2.0), words))
    if fill.piece in pocket.bag_pieces:
        words = f"'{fill.piece}' is a bag: a free edge of it lies on another layer's"
        plain = {one.piece for one in pocket.fillings} - pocket.bag_pieces
        facts.append(Fact(EXPLAINED if plain else -0.5, words))
    assembly = _make_assembly(nest, fill)
    across, side = _tell_across(nest, beside)
    opening = Opening(
        name,
        assembly.name,
        mouth.piece,
        mouth.edge,
        across,
        side,
        beside[across].edge,
        beside[side].edge,
    )
    return Proposal(
        "opening",
        name,
        ((Span(mouth.piece, mouth.edge),), (fill.before, fill.after)),
        PRIOR,
        tuple(facts),
        (assembly, opening),
        (claim_mouth(nest, mouth.piece, mouth.edge, "opening"),),
    )


def _judge_rigid(mouth: EdgeMeasure) -> Fact:
    moved = float(np.ptp(mouth.lengths))
    if len(mouth.lengths) == 1:
        return Fact(0.0, "in a single size nothing shows that the edge is not graded")
    if moved <= RIGID_MM:
        words = f"'{mouth.key}' is {mouth.lengths[0]:.1f} mm in every size: it is not graded"
        return Fact(2.0, words)
    return Fact(-1.0, f"'{mouth.key}' is graded by {moved:.1f} mm; an opening seldom is")


def _tell_across(nest: Nest, beside: Mapping[_End, EdgeMeasure]) -> tuple[_End, _End]:
    """The ends of the mouth at which the edge across (the waist) lies, and the one at the side.

    The side runs with the grain, more than the other.
    """
    lean = {}
    for end, edge in beside.items():
        piece = nest.in_base(edge.piece)
        lean[end] = measure_lean(piece.edge(edge.edge).points, piece.grain.direction)
    return ("start", "end") if lean["start"] <= lean["end"] else ("end", "start")


def _make_assembly(nest: Nest, fill: Filling) -> Assembly:
    """The main piece with what fills its corner, edge by edge from behind the mouth."""
    mouth = fill.mouth
    names = nest.outline_names(mouth.piece)
    i = names.index(mouth.edge)
    edges: dict[str, Run] = {
        name: (Span(mouth.piece, name),) for name in (*names[i + 1 :], *names[:i])
    }
    first, last = names[(i + 1) % len(names)], names[i - 1]
    edges[first] = (fill.after, *edges[first])
    edges[last] = (*edges[last], fill.before)
    part = AssemblyPart(fill.piece, fill.put, fill.face_down)
    return Assembly(f"full_{mouth.piece}", mouth.piece, (part,), edges)


def propose_stacks(
    nest: Nest, pockets: Sequence[Pocket], opened: Sequence[Proposal]
) -> list[Proposal]:
    """One proposal for the layers behind each mouth, on the likeliest opening."""
    found = []
    for pocket in pockets:
        on = next((one for one in opened if pocket.mouth.key == one.runs[0][0].key), None)
        if on is not None:
            found.append(_propose_stack(nest, pocket, on))
    return rank_proposals(found)


def _propose_stack(nest: Nest, pocket: Pocket, opened: Proposal) -> Proposal:
    mouth = pocket.mouth
    assembly = next(one for one in opened.relations if isinstance(one, Assembly))
    shown = {part.piece for part in assembly.parts} - pocket.bag_pieces
    facts: list[Fact] = []
    runs: list[Run] = [(Span(mouth.piece, mouth.edge),)]
    layers = []
    for layer in pocket.layers:
        facts += _judge_layer(nest, mouth, layer)
        if layer.filling is not None:
            runs.append((layer.filling.before, layer.filling.after))
        else:
            runs.append((Span(layer.piece, layer.mouth or ""),))
        layers.append(
            StackLayer(
                layer.piece,
                layer.put,
                layer.rides,
                layer.mouth,
                layer.face_down,
                shows=layer.piece in shown,
                bag=layer.piece in pocket.bag_pieces,
            )
        )
    for a, b in pocket.bags:
        facts.append(Fact(2.0, f"'{a}' and '{b}' lie on each other along their whole length"))
    name = f"{opened.name}_layers"
    return Proposal(
        "stack",
        name,
        tuple(runs),
        PRIOR,
        tuple(facts),
        (Stack(name, opened.name, tuple(layers)),),
        (claim_mouth(nest, mouth.piece, mouth.edge, "stack"),),
        needs=(opened.name,),
        most=opened.score,
    )


def _judge_layer(nest: Nest, mouth: EdgeMeasure, layer: Layer) -> list[Fact]:
    laid = "laid face down on" if layer.face_down else "laid on"
    keys = [f"{layer.piece}.{edge}" for edge in layer.rides]
    total = sum(float(nest.edges[key].lengths[nest.base]) for key in keys)
    listed = ", ".join(f"{edge} on {line}" for edge, line in layer.rides.items())
    words = f"'{layer.piece}' {laid} '{mouth.key}' follows the outline for {total:.0f} mm"
    facts = [Fact(2.0 if len(keys) > 1 else 0.5, f"{words} ({listed})")]
    if layer.mouth is not None:
        words = f"'{layer.piece}.{layer.mouth}' has the shape of '{mouth.key}' in every size"
        facts.append(Fact(2.0, words))
    return facts
