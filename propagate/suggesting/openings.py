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
from propagate.suggesting.layers import Layer, Pocket
from propagate.suggesting.mouths import Filling
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Claim, Fact, Proposal, score_of, words_of
from propagate.suggesting.seams import EXPLAINED, ranked

__all__ = ["openings", "stacks"]

PRIOR = -5.0
RIGID_MM = 0.05


def openings(nest: Nest, pockets: Sequence[Pocket]) -> list[Proposal]:
    """One proposal for each piece that may fill the corner behind a mouth."""
    count = Counter(pocket.mouth.piece for pocket in pockets)
    found = []
    for pocket in pockets:
        mouth = pocket.mouth
        of = mouth.piece if count[mouth.piece] == 1 else f"{mouth.piece}_{mouth.edge}"
        found += [_propose_opening(nest, pocket, fill, f"{of}_pocket") for fill in pocket.fillings]
    return ranked(found)


def stacks(nest: Nest, pockets: Sequence[Pocket], opened: Sequence[Proposal]) -> list[Proposal]:
    """One proposal for the layers behind each mouth, on the likeliest opening."""
    found = []
    for pocket in pockets:
        on = [one for one in opened if pocket.mouth.key == one.runs[0][0].key]
        if on:
            found.append(_propose_stack(nest, pocket, on[0]))
    return ranked(found)


def _propose_opening(nest: Nest, pocket: Pocket, fill: Filling, name: str) -> Proposal:
    mouth = pocket.mouth
    facts = [
        _judge_rigid(mouth),
        Fact(
            3.0,
            f"two landmarks of '{fill.piece}' ({fill.at_start}, {fill.at_end}) are as far apart as "
            f"the ends of '{mouth.key}' in every size, within {fill.gap:.2f} mm",
        ),
        *_running_on(nest, fill),
    ]
    others = [layer.piece for layer in pocket.layers if layer.piece != fill.piece]
    if others:
        words = f"further layers fit the same line: {', '.join(sorted(set(others)))}"
        facts.append(Fact(min(1.0 * len(others), 2.0), words))
    if fill.piece in pocket.bag_pieces:
        words = f"'{fill.piece}' is a bag: a free edge of it lies on another layer's"
        plain = {one.piece for one in pocket.fillings} - pocket.bag_pieces
        facts.append(Fact(EXPLAINED if plain else -0.5, words))
    assembly = _make_assembly(nest, fill, f"full_{mouth.piece}")
    before = nest.neighbour(mouth.piece, mouth.edge, -1).edge
    after = nest.neighbour(mouth.piece, mouth.edge, 1).edge
    across, side = _tell_across(nest, mouth, before, after)
    opening = Opening(
        name,
        assembly.name,
        mouth.piece,
        mouth.edge,
        "start" if across == before else "end",
        "end" if across == before else "start",
        across,
        side,
    )
    evidence, against = words_of(facts)
    return Proposal(
        "opening",
        name,
        ((Span(mouth.piece, mouth.edge),), (fill.before, fill.after)),
        score_of(PRIOR, facts),
        evidence,
        against,
        (assembly, opening),
        (_claim_mouth(nest, mouth, "opening"),),
        facts=tuple(facts),
    )


def _judge_rigid(mouth: EdgeMeasure) -> Fact:
    moved = float(np.ptp(mouth.lengths))
    if len(mouth.lengths) == 1:
        return Fact(0.0, "in a single size nothing shows that the edge is not graded")
    if moved <= RIGID_MM:
        return Fact(
            2.0, f"'{mouth.key}' is {mouth.lengths[0]:.1f} mm in every size: it is not graded"
        )
    return Fact(-1.0, f"'{mouth.key}' is graded by {moved:.1f} mm; an opening seldom is")


def _running_on(nest: Nest, fill: Filling) -> list[Fact]:
    facts = []
    for end, step, turn in (("start", -1, fill.turns[0]), ("end", 1, fill.turns[1])):
        edge = nest.neighbour(fill.mouth.piece, fill.mouth.edge, step).key
        words = f"'{edge}' runs on into '{fill.piece}' at the opening's {end} within {turn:.1f}°"
        facts.append(Fact(2.0 if turn <= 1.0 else 1.0 if turn <= 3.0 else -1.0, words))
    return facts


def _claim_mouth(nest: Nest, mouth: EdgeMeasure, role: Literal["opening", "stack"]) -> Claim:
    return Claim(role, mouth.piece, mouth.edge, 0.0, float(mouth.lengths[nest.base]))


def _tell_across(nest: Nest, mouth: EdgeMeasure, before: str, after: str) -> tuple[str, str]:
    """Which neighbour of the mouth runs across (waist) and which along the side.

    The side runs with the grain, more than the other.
    """
    piece = nest.pattern.sized(mouth.piece, nest.pattern.base)
    lean = {}
    for name in (before, after):
        chord = piece.edge(name).points[-1] - piece.edge(name).points[0]
        lean[name] = abs(float(chord @ piece.grain.direction)) / float(np.hypot(*chord))
    return (before, after) if lean[before] <= lean[after] else (after, before)


def _make_assembly(nest: Nest, fill: Filling, name: str) -> Assembly:
    mouth = fill.mouth
    names = nest.outline_names(mouth.piece)
    i = names.index(mouth.edge)
    edges: dict[str, Run] = {}
    for k in range(1, len(names)):
        own = Span(mouth.piece, names[(i + k) % len(names)])
        edges[own.edge] = (own,)
    first, last = names[(i + 1) % len(names)], names[i - 1]
    edges[first] = (fill.after, *edges[first])
    edges[last] = (*edges[last], fill.before)
    put = ((fill.at_start, f"{mouth.edge}.start"), (fill.at_end, f"{mouth.edge}.end"))
    return Assembly(name, mouth.piece, (AssemblyPart(fill.piece, put, fill.face_down),), edges)


def _propose_stack(nest: Nest, pocket: Pocket, opened: Proposal) -> Proposal:
    mouth = pocket.mouth
    facts = [fact for layer in pocket.layers for fact in _layer_facts(nest, pocket, layer)]
    for a, b in pocket.bags:
        facts.append(Fact(2.0, f"'{a}' and '{b}' lie on each other along their whole length"))
    assembly = next(one for one in opened.relations if isinstance(one, Assembly))
    shown = {part.piece for part in assembly.parts}
    name = f"{opened.name}_layers"
    stack = Stack(
        name,
        opened.name,
        tuple(
            StackLayer(
                layer.piece,
                layer.put,
                layer.riding,
                layer.mouth,
                layer.face_down,
                shows=layer.piece in shown and layer.piece not in pocket.bag_pieces,
                bag=layer.piece in pocket.bag_pieces,
            )
            for layer in pocket.layers
        ),
    )
    evidence, against = words_of(facts)
    return Proposal(
        "stack",
        name,
        ((Span(mouth.piece, mouth.edge),), *(_layer_run(layer) for layer in pocket.layers)),
        min(score_of(PRIOR, facts), opened.score),
        evidence,
        against,
        (stack,),
        (_claim_mouth(nest, mouth, "stack"),),
        (opened.name,),
        tuple(facts),
    )


def _layer_run(layer: Layer) -> Run:
    if layer.filling is not None:
        return layer.filling.before, layer.filling.after
    return (Span(layer.piece, layer.mouth or ""),)


def _layer_facts(nest: Nest, pocket: Pocket, layer: Layer) -> list[Fact]:
    laid = "laid face down on" if layer.face_down else "laid on"
    rides: Mapping[str, str] = layer.riding
    total = sum(float(nest.edges[f"{layer.piece}.{edge}"].lengths[nest.base]) for edge in rides)
    listed = ", ".join(f"{edge} on {line}" for edge, line in rides.items())
    facts = [
        Fact(
            2.0 if len(rides) > 1 else 0.5,
            f"'{layer.piece}' {laid} '{pocket.mouth.key}' follows the outline for {total:.0f} mm "
            f"({listed})",
        )
    ]
    if layer.mouth is not None:
        words = f"'{layer.piece}.{layer.mouth}' has the shape of '{pocket.mouth.key}' in every size"
        facts.append(Fact(2.0, words))
    return facts
