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
from propagate.engine.review.taken import silhouette_pieces
from propagate.engine.tape import Silhouette, tape
from propagate.errors import PropagateError
from propagate.geometry.motion import fit
from propagate.geometry.polyline import locate_all, sample_line
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Stack, StackLayer

__all__ = ["find_exchanged_mains", "find_layers_laid_wrongly"]

OFF_MM = 5.0
"""Layers are drawn by tracing; from here on a riding edge does not lie on its line."""
BETTER = 4.0
"""So many times nearer must the other way lie to be named."""
SAMPLES = 9


def find_layers_laid_wrongly(pattern: PatternSet) -> Iterator[Finding]:
    """Find layers whose riding edges lie on the outline only when laid another way."""
    for stack in pattern.relations.stacks.values():
        opening = pattern.relations.openings[stack.opening]
        try:
            silhouette = tape(pattern, opening.silhouette, pattern.base)
        except PropagateError:
            continue  # an assembly that cannot be taped is told where it is used
        for layer in stack.layers:
            if layer.ride:
                yield from _judge_layer(pattern, stack, silhouette, layer)


def _judge_layer(
    pattern: PatternSet, stack: Stack, silhouette: Silhouette, layer: StackLayer
) -> Iterator[Finding]:
    main = pattern.relations.openings[stack.opening].piece
    as_put = _measure_off(pattern, silhouette, main, layer)
    if as_put <= OFF_MM:
        return
    off = {
        (over, swapped): _measure_off(pattern, silhouette, main, layer, over, swapped)
        for over, swapped in ((True, False), (False, True), (True, True))
    }
    way = min(off, key=lambda one: (off[one], one))
    best = off[way]
    said, cure = _tell_mistake(layer, *way)
    edges, lines = list(layer.ride), list(layer.ride.values())
    turned = dict(zip(edges, [*lines[1:], lines[0]], strict=True))
    exchanged = _measure_off(pattern, silhouette, main, replace(layer, ride=turned))
    if len(edges) == 2 and exchanged < best and exchanged * BETTER <= as_put:
        best, said = exchanged, "Riding on each other's lines"
        cure = "probably the two edges in 'ride' are exchanged; exchange them"
    if best * BETTER <= as_put:
        named = " and ".join(f"'{line}'" for line in lines)
        yield Finding(
            "layer laid wrongly",
            f"stack '{stack.name}', layer '{layer.piece}'",
            f"found its riding edges {as_put:.1f} mm off {named} of '{silhouette.name}' on "
            f"average, as it is put; expected them on it. {said} they are within {best:.1f} mm: "
            f"{cure}",
            (layer.piece, main),
            sews=False,
        )


def _measure_off(
    pattern: PatternSet,
    silhouette: Silhouette,
    main: str,
    layer: StackLayer,
    over: bool = False,
    swapped: bool = False,
) -> float:
    """Mean distance of a layer's riding edges from their lines, laid in one of four ways, mm."""
    sized = pattern.sized(layer.piece, pattern.base)
    source = [sized.landmark(own).point for own, _ in layer.put]
    target = [pattern.sized(main, pattern.base).landmark(on).point for _, on in layer.put]
    to_main, _ = fit(source, target[::-1] if swapped else target, face_down=layer.face_down != over)
    motion = silhouette.motions[main].after(to_main)
    gaps = []
    for own, theirs in layer.ride.items():
        points = motion.apply(sample_line(sized.edge(own).points, SAMPLES))
        gaps.append(float(locate_all(silhouette.edge(theirs).points, points)[1].mean()))
    return float(np.mean(gaps))


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


def find_exchanged_mains(pattern: PatternSet) -> Iterator[Finding]:
    """Find mains of the blend whose centre and side, or levels, are exchanged."""
    plan = pattern.relations.blend
    if plan is None:
        return
    seam = pattern.relations.seams.get(plan.seam)
    sewn = set() if seam is None else {span.key for span in (*seam.lead, *seam.follow)}
    # Mains that are sewn to other mains by the side that a blend redraws.
    sides, pairs = main_sides(pattern, plan)
    others = {
        sides[place].main.silhouette
        for pair in pairs
        for place, run in ((pair.lead, pair.seam.lead), (pair.follow, pair.seam.follow))
        if run_nodes(pattern, run) == [sides[place].node]
    }
    leads = tuple(silhouette_pieces(pattern, main.silhouette)[0] for main in plan.mains)
    for main, lead in zip(plan.mains, leads, strict=True):
        side, centre = (_list_keys(pattern, main, edge) for edge in (main.side, main.centre))
        if sewn and not sewn & side and main.silhouette not in others:
            exchanged = bool(sewn & centre)
            likely = (
                "Probably centre and side are exchanged: exchange them"
                if exchanged
                else "Probably the side, or the blend's 'seam', is named wrongly: correct it"
            )
            yield Finding(
                "side of a main",
                f"blend, main '{main.silhouette}'",
                f'found side = "{main.side}" and centre = "{main.centre}", and that seam '
                f"'{plan.seam}' of the blend is not sewn along '{main.side}'"
                + (f" but along '{main.centre}'" if exchanged else "")
                + f"; expected it along the side. {likely}",
                (lead,),
                sews=False,
            )
    if leads and all(_is_upside_down(pattern, plan, main) for main in plan.mains):
        yield Finding(
            "levels of the blend",
            "blend",
            f'found upper = "{plan.upper}" and lower = "{plan.lower}", and that the edges named '
            f"by 'across' lie at '{plan.lower}'; expected them at the upper level. Probably upper "
            "and lower are exchanged: exchange them",
            leads,
            sews=False,
        )


def _list_keys(pattern: PatternSet, main: BlendMain, edge: str) -> set[str]:
    """The ``PIECE.EDGE`` that make up an edge of a main."""
    assembly = pattern.relations.assemblies.get(main.silhouette)
    if assembly is None:
        return {f"{main.silhouette}.{edge}"}
    return {span.key for span in assembly.edges[edge]}


def _is_upside_down(pattern: PatternSet, plan: BlendPlan, main: BlendMain) -> bool:
    """Tell whether the crossing edge lies at the lower level rather than at the upper one."""
    lead = silhouette_pieces(pattern, main.silhouette)[0]
    piece = pattern.sized(lead, pattern.base)
    spans = [key.partition(".") for key in sorted(_list_keys(pattern, main, main.across))]
    points = [piece.edge(edge).points.mean(axis=0) for name, _, edge in spans if name == lead]
    if not points or not {plan.upper, plan.lower} <= piece.levels.keys():
        return False
    grain = piece.grain.direction
    at = float(np.mean(points, axis=0) @ grain)
    high, low = (float(np.asarray(piece.levels[one]) @ grain) for one in (plan.upper, plan.lower))
    return abs(at - low) < abs(at - high) / 2
