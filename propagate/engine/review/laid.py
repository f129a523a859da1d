"""Pocket layers that lie the wrong way up or from the wrong end, and mains with edges exchanged.

A layer is put on its main piece by two landmarks alone, so that a wrong way up or the two ends
exchanged pass every check; but then its riding edges lie far from the outline that they
ride on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from propagate.engine.graph import run_nodes
from propagate.engine.main_sides import main_sides
from propagate.engine.review.finding import Finding
from propagate.engine.tape import Silhouette, tape
from propagate.errors import PropagateError
from propagate.geometry.motion import fit
from propagate.geometry.polyline import locate_all, sample_line
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Opening, Stack, StackLayer

__all__ = ["layers", "mains"]

OFF_MM = 5.0
"""Layers are drawn by tracing; from here on a riding edge does not lie on its line."""
BETTER = 4.0
"""So many times nearer must the other way lie to be named."""
SAMPLES = 9


def layers(pattern: PatternSet) -> Iterator[Finding]:
    """Find layers whose riding edges lie on the outline only when laid another way."""
    for stack in pattern.relations.stacks.values():
        opening = pattern.relations.openings[stack.opening]
        for layer in stack.layers:
            if layer.ride:
                yield from _judge_layer(pattern, stack, opening, layer)


def _judge_layer(
    pattern: PatternSet, stack: Stack, opening: Opening, layer: StackLayer
) -> Iterator[Finding]:
    size = pattern.base
    try:
        silhouette = tape(pattern, opening.silhouette, size)
    except PropagateError:
        return  # an assembly that cannot be taped is told where it is used
    sized, main = pattern.sized(layer.piece, size), pattern.sized(opening.piece, size)
    as_put = _measure_off(silhouette, opening, layer, sized, main, False, False)
    if as_put <= OFF_MM:
        return
    off = {
        (over, swapped): _measure_off(silhouette, opening, layer, sized, main, over, swapped)
        for over, swapped in ((True, False), (False, True), (True, True))
    }
    best = min(off, key=lambda way: (off[way], way[0], way[1]))
    edges = list(layer.ride)
    turned = dict(zip(edges, [*list(layer.ride.values())[1:], layer.ride[edges[0]]], strict=True))
    other = replace(layer, ride=turned)
    exchanged = _measure_off(silhouette, opening, other, sized, main, False, False)
    if len(edges) == 2 and exchanged < off[best] and exchanged * BETTER <= as_put:
        yield _make_finding(
            layer,
            stack,
            opening,
            as_put,
            exchanged,
            "Riding on each other's lines",
            "probably the two edges in 'ride' are exchanged; exchange them",
        )
        return
    if off[best] * BETTER <= as_put:
        yield _make_finding(layer, stack, opening, as_put, off[best], *_tell_mistake(layer, *best))


def _make_finding(
    layer: StackLayer,
    stack: Stack,
    opening: Opening,
    as_put: float,
    best: float,
    said: str,
    cure: str,
) -> Finding:
    return Finding(
        "layer laid wrongly",
        f"stack '{stack.name}', layer '{layer.piece}'",
        f"found its riding edges {as_put:.1f} mm off {_name_lines(layer)} of "
        f"'{opening.silhouette}' on average, as it is put; expected them on it. {said} they are "
        f"within {best:.1f} mm: {cure}",
        (layer.piece, opening.piece),
        sews=False,
    )


def _measure_off(
    silhouette: Silhouette,
    opening: Opening,
    layer: StackLayer,
    sized: SizedPiece,
    main: SizedPiece,
    over: bool,
    swapped: bool,
) -> float:
    """Mean distance of a layer's riding edges from their lines, laid in one of four ways, mm."""
    put = layer.put
    source = [sized.landmark(own).point for own, _ in put]
    target = [main.landmark(theirs).point for _, theirs in put]
    to_main, _ = fit(source, target[::-1] if swapped else target, face_down=layer.face_down != over)
    motion = silhouette.motions[opening.piece].after(to_main)
    gaps = []
    for own, theirs in layer.ride.items():
        points = motion.apply(sample_line(sized.edge(own).points, SAMPLES))
        gaps.append(float(locate_all(silhouette.edge(theirs).points, points)[1].mean()))
    return float(np.mean(gaps))


def _name_lines(layer: StackLayer) -> str:
    return " and ".join(f"'{edge}'" for edge in layer.ride.values())


def _tell_mistake(layer: StackLayer, over: bool, swapped: bool) -> tuple[str, str]:
    turned = "face_down = true is left over" if layer.face_down else "face_down = true is missing"
    exchange = "exchange the two ends in 'put'"
    if over and swapped:
        return (
            "Turned over, with the two ends of 'put' exchanged,",
            f"probably {turned}, and the ends are put crosswise; correct face_down and {exchange}",
        )
    if over:
        return "Turned over,", f"probably {turned}; correct face_down of this layer"
    return (
        "With the two ends of 'put' exchanged",
        f"probably the layer is put the wrong way round; {exchange}",
    )


# ---------------------------------------------------------------------------------- mains


def mains(pattern: PatternSet) -> Iterator[Finding]:
    """Find mains of the blend whose centre and side, or levels, are exchanged."""
    plan = pattern.relations.blend
    if plan is None:
        return
    seam = pattern.relations.seams.get(plan.seam)
    sewn = set() if seam is None else {span.key for span in (*seam.lead, *seam.follow)}
    others = _sewn_sides(pattern, plan)
    wrong = []
    for main in plan.mains:
        side, centre = (_list_keys(pattern, main, edge) for edge in (main.side, main.centre))
        where = f"blend, main '{main.silhouette}'"
        if sewn and not sewn & side and main.silhouette not in others:
            exchanged = bool(sewn & centre)
            likely = (
                "Probably centre and side are exchanged: exchange them"
                if exchanged
                else "Probably the side, or the blend's 'seam', is named wrongly: correct it"
            )
            yield Finding(
                "side of a main",
                where,
                f'found side = "{main.side}" and centre = "{main.centre}", and that seam '
                f"'{plan.seam}' of the blend is not sewn along '{main.side}'"
                + (f" but along '{main.centre}'" if exchanged else "")
                + f"; expected it along the side. {likely}",
                (_find_lead(pattern, main),),
                sews=False,
            )
        wrong.append(_upside_down(pattern, main, plan.upper, plan.lower))
    if wrong and all(wrong):
        yield Finding(
            "levels of the blend",
            "blend",
            f'found upper = "{plan.upper}" and lower = "{plan.lower}", and that the edges named '
            f"by 'across' lie at '{plan.lower}'; expected them at the upper level. Probably upper "
            "and lower are exchanged: exchange them",
            tuple(_find_lead(pattern, main) for main in plan.mains),
            sews=False,
        )


def _sewn_sides(pattern: PatternSet, plan: BlendPlan) -> set[str]:
    """Mains that are sewn to other mains by the side that a blend redraws."""
    sides, pairs = main_sides(pattern, plan)
    return {
        side.main.silhouette
        for pair in pairs
        for side, run in (
            (sides[pair.lead], pair.seam.lead),
            (sides[pair.follow], pair.seam.follow),
        )
        if run_nodes(pattern, run) == [side.node]
    }


def _find_lead(pattern: PatternSet, main: BlendMain) -> str:
    assembly = pattern.relations.assemblies.get(main.silhouette)
    return main.silhouette if assembly is None else assembly.lead


def _list_keys(pattern: PatternSet, main: BlendMain, edge: str) -> set[str]:
    """The ``PIECE.EDGE`` that make up an edge of a main."""
    assembly = pattern.relations.assemblies.get(main.silhouette)
    if assembly is None:
        return {f"{main.silhouette}.{edge}"}
    return {span.key for span in assembly.edges[edge]}


def _upside_down(pattern: PatternSet, main: BlendMain, upper: str, lower: str) -> bool:
    """Tell whether the crossing edge lies at the lower level rather than at the upper one."""
    lead = _find_lead(pattern, main)
    piece = pattern.sized(lead, pattern.base)
    if upper not in piece.levels or lower not in piece.levels:
        return False
    spans = [key.partition(".") for key in sorted(_list_keys(pattern, main, main.across))]
    points = [piece.edge(edge).points.mean(axis=0) for name, _, edge in spans if name == lead]
    if not points:
        return False
    grain = piece.grain.direction
    at = float(np.mean(points, axis=0) @ grain)
    high, low = (float(np.asarray(piece.levels[level]) @ grain) for level in (upper, lower))
    return abs(at - low) < abs(at - high) / 2
