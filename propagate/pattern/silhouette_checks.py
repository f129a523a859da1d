"""What can be wrong with assemblies, openings, stacks and the blend plan."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np

from propagate.pattern.names import Names, Point, are_near
from propagate.pattern.relations import Assembly, BlendPlan, Opening
from propagate.tolerances import ON_LINE_MM

__all__ = ["check_assemblies", "check_blend", "check_openings", "check_stacks"]


# ---------------------------------------------------------------------------- assemblies


def check_assemblies(names: Names) -> None:
    """Check parts, their landmarks, and that each silhouette closes."""
    for assembly in names.pattern.relations.assemblies.values():
        where = f"assembly '{assembly.name}'"
        if assembly.name in names.pattern.pieces:
            names.add(where, "found a piece of the same name, expected another; rename one")
        before = len(names.lines)
        names.piece(f"{where}, lead", assembly.lead)
        for part in assembly.parts:
            place = f"{where}, part '{part.piece}'"
            if part.piece == assembly.lead:
                names.add(place, "found the lead itself, expected another piece")
            check_put(names, place, part.piece, assembly.lead, part.put)
        known = set(assembly.pieces)
        for edge, run in assembly.edges.items():
            names.run(f"{where}, edge '{edge}'", run)
            for span in run:
                if span.piece not in known:
                    names.unknown(f"{where}, edge '{edge}'", "part", span.piece, sorted(known))
        if not assembly.edges:
            names.add(where, "found no silhouette edge, expected a closed chain of them")
        if len(names.lines) == before:
            _check_closed(names, where, assembly)


def check_put(
    names: Names, where: str, piece: str, main: str, put: Sequence[tuple[str, str]]
) -> None:
    """Check the landmark pairs that put a part or layer on its main piece."""
    for own, other in put:
        names.landmark(f"{where}, put", piece, own)
        names.landmark(f"{where}, put", main, other)
    if len(set(put)) < 2:
        names.add(f"{where}, put", f"found {len(set(put))} pair(s) of landmarks, expected 2")


def _check_closed(names: Names, where: str, assembly: Assembly) -> None:
    """Check that each span of the silhouette begins where the one before ends."""
    spans = list(chain.from_iterable(assembly.edges.values()))
    for before, after in zip(spans, [*spans[1:], spans[0]], strict=True):
        for size in names.pattern.sizes:
            first, second = names.ends(size, before), names.ends(size, after)
            if first is None or second is None:
                continue  # noted with the piece
            joined = are_near(first[1], second[0])
            if before.piece != after.piece:
                ends = _on_lead(names, assembly, size, before.piece, first[1])
                begins = _on_lead(names, assembly, size, after.piece, second[0])
                joined = any(are_near(a, b) for a in ends for b in begins)
            if not joined:
                names.add(
                    where,
                    f"found that '{before}' does not end where '{after}' begins in size "
                    f"'{size}', expected a closed counter-clockwise silhouette; put its edges in "
                    "order and name the stretch that is missing",
                )
                break


def _on_lead(names: Names, assembly: Assembly, size: str, piece: str, place: Point) -> list[Point]:
    """Return the places of the lead that a place of a part is put on."""
    if piece == assembly.lead:
        return [place]
    own, lead = names.sized(piece, size), names.sized(assembly.lead, size)
    put = [pair for part in assembly.parts if part.piece == piece for pair in part.put]
    if own is None or lead is None:
        return []
    found = ((own.find_landmark(here), lead.find_landmark(there)) for here, there in put)
    return [
        mark.point
        for here, mark in found
        if here is not None and mark is not None and are_near(here.point, place)
    ]


# ------------------------------------------------------------------- openings and stacks


def check_openings(names: Names) -> None:
    """Check the edge of each opening and that its ends lie where it says."""
    for opening in names.pattern.relations.openings.values():
        where = f"opening '{opening.name}'"
        assemblies = names.pattern.relations.assemblies
        if opening.silhouette not in assemblies:
            names.unknown(where, "assembly", opening.silhouette, list(assemblies))
        else:
            assembly = assemblies[opening.silhouette]
            pieces = list(assembly.pieces)
            if opening.piece not in pieces:
                names.unknown(where, "piece", opening.piece, pieces, f"assembly '{assembly.name}'")
        edge = names.edge(where, opening.piece, opening.edge)
        if {opening.across_end, opening.side_end} != {"start", "end"}:
            names.add(
                where,
                f"found across_end '{opening.across_end}' and side_end '{opening.side_end}', "
                "expected 'start' for one and 'end' for the other",
            )
        elif edge is not None and opening.silhouette in assemblies:
            _check_end(names, where, opening, opening.across_end, opening.across)
            _check_end(names, where, opening, opening.side_end, opening.side)


def _check_end(names: Names, where: str, opening: Opening, end: str, silhouette_edge: str) -> None:
    run = names.silhouette_edge(where, opening.silhouette, silhouette_edge)
    spans = [span for span in run or () if span.piece == opening.piece]
    for size in names.pattern.sizes if spans else ():
        place = names.place(size, opening.piece, opening.edge, end)
        places = list(chain.from_iterable(names.ends(size, span) or () for span in spans))
        if place is not None and places and not any(are_near(place, other) for other in places):
            names.add(
                where,
                f"found that the {end} of edge '{opening.edge}' does not meet '{silhouette_edge}' "
                f"in size '{size}', expected it there; exchange across_end and side_end, or "
                "name the edge it lies on",
            )
            return


def check_stacks(names: Names) -> None:
    """Check the opening and the layers of each stack."""
    openings = names.pattern.relations.openings
    for stack in names.pattern.relations.stacks.values():
        where = f"stack '{stack.name}'"
        opening = openings.get(stack.opening)
        if opening is None:
            names.unknown(where, "opening", stack.opening, list(openings))
        else:
            for edge in stack.clear_of:
                names.silhouette_edge(f"{where}, clear_of", opening.silhouette, edge)
        if not stack.layers:
            names.add(where, "found no layer, expected at least one")
        for layer in stack.layers:
            place = f"{where}, layer '{layer.piece}'"
            known = names.piece(place, layer.piece) is not None
            if known and opening is not None:
                check_put(names, place, layer.piece, opening.piece, layer.put)
            for edge, silhouette_edge in layer.ride.items():
                if known:
                    names.edge(f"{place}, ride", layer.piece, edge)
                if opening is not None:
                    names.silhouette_edge(f"{place}, ride", opening.silhouette, silhouette_edge)
            if known and layer.mouth is not None:
                names.edge(f"{place}, mouth", layer.piece, layer.mouth)


# ---------------------------------------------------------------------------------- blend


def check_blend(names: Names) -> None:
    """Check the names in the blend plan, and that no hold lies above the lower level."""
    plan = names.pattern.relations.blend
    if plan is None:
        return
    seams = names.pattern.relations.seams
    if plan.seam not in seams:
        names.unknown("blend, seam", "seam", plan.seam, list(seams))
    if not plan.mains:
        names.add("blend", "found no main, expected the silhouettes that are blended")
    for main in plan.mains:
        where = f"blend, main '{main.silhouette}'"
        for edge in (main.across, main.centre, main.side):
            names.silhouette_edge(where, main.silhouette, edge)
        if main.across_hold is not None:
            names.far_landmark(f"{where}, across_hold", main.across_hold)
        found = names.silhouette(where, main.silhouette)
        if found is None:
            continue
        lead = found[0]
        levels = (plan.upper, plan.lower, names.pattern.lay_on)
        known = [names.level(where, lead, level) for level in levels]
        if all(known):
            _check_hold(names, f"{where}, centre_hold", lead, plan, main.centre_hold)
            _check_hold(names, f"{where}, side_hold", lead, plan, main.side_hold)
        if plan.leg is not None:
            for level in (plan.leg.level, plan.leg.hold):
                names.level(f"{where}, leg", lead, level)
            for edge in plan.leg.edges:
                names.silhouette_edge(f"{where}, leg", main.silhouette, edge)


def _check_hold(names: Names, where: str, piece: str, plan: BlendPlan, hold: str) -> None:
    """Check a hold against the lower level, along the grain, in each size."""
    if not names.level(where, piece, hold):
        return
    for size in names.pattern.sizes:
        sized = names.sized(piece, size)
        wanted = (plan.upper, plan.lower, hold)
        if sized is None or any(level not in sized.levels for level in wanted):
            continue
        grain = np.subtract(sized.grain.end, sized.grain.start)
        size_of_grain = float(np.hypot(*grain))
        if size_of_grain == 0.0:
            continue
        upper, lower, at = (
            float(np.dot(sized.levels[level], grain)) / size_of_grain for level in wanted
        )
        if abs(upper - lower) <= ON_LINE_MM:
            names.add(
                where,
                f"found levels '{plan.upper}' and '{plan.lower}' at the same height in size "
                f"'{size}', expected '{plan.upper}' above; correct the levels of '{piece}'",
            )
            return
        above = (at - lower) * float(np.sign(upper - lower))
        if above > ON_LINE_MM:
            names.add(
                where,
                f"found level '{hold}' {above:.4g} mm above '{plan.lower}' in size '{size}', "
                f"expected it on '{plan.lower}' or below, so that the whole of the lower size "
                f"is kept; name '{plan.lower}' or a lower level",
            )
            return
