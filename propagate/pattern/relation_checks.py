"""What can be wrong with seams, bands, girths, places and the order of leads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import chain

from propagate.errors import PropagateError
from propagate.pattern.ease import Ease, EaseSaid, eases_within
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.names import Names, are_near, find_repeated, quote_names
from propagate.pattern.relation_edges import runs_of
from propagate.pattern.relations import Band, Run, Seam
from propagate.pattern.spans import distance_on_run
from propagate.pattern.turning import zones_without_pair
from propagate.tolerances import ON_LINE_MM

__all__ = [
    "check_bands",
    "check_cycles",
    "check_girths",
    "check_places",
    "check_runs_of_others",
    "check_tapes",
    "check_seams",
]


# ---------------------------------------------------------------------------------- seams


def check_seams(names: Names) -> None:
    """Check runs, notches, crossing edges and holds of each seam."""
    for seam in names.pattern.relations.seams.values():
        where = f"seam '{seam.name}'"
        sound = names.run(f"{where}, lead", seam.lead)
        if seam.mirror:
            if seam.follow:
                names.add(where, "found a follower beside mirror, expected one or the other")
        else:
            sound &= names.run(f"{where}, follow", seam.follow)
        still = next((word for word in ("fixed", "check", "mirror") if getattr(seam, word)), None)
        if seam.lead_wins and still is not None:
            names.add(
                where,
                f"found lead_wins beside {still}, expected one or the other; the follower of such "
                "a seam never gives way",
            )
        if seam.both_ways:
            other = still or ("lead_wins" if seam.lead_wins else None)
            if other is not None:
                names.add(where, f"found both_ways beside {other}, expected one or the other")
            for mark in zones_without_pair(seam):
                names.add(
                    f"{where}, ease",
                    f"found a zone up to '{mark}', which meets no notch, expected a pair in "
                    "'notches' that it begins: a seam that goes both ways is read from its other "
                    "side as well",
                )
        follow = seam.lead if seam.mirror else seam.follow
        for lead_mark, follow_mark in seam.notches:
            _check_notch(names, f"{where}, notches", lead_mark, seam.lead)
            _check_notch(names, f"{where}, notches", follow_mark, follow)
        for end, pair in seam.crossing.items():
            for edge, run in zip(pair, (seam.lead, follow), strict=True):
                _check_crossing(names, f"{where}, crossing, {end}", edge, run if sound else (), end)
        for end in seam.peak:
            if end not in seam.crossing:
                known = quote_names(seam.crossing, " and ") or "none"
                names.add(
                    f"{where}, peak",
                    f"found '{end}', expected an end that has its pair in 'crossing': {known}",
                )
        _check_ease(names, f"{where}, ease", seam.ease)
        if sound:
            _check_ease_zones(names, f"{where}, ease", seam)
        if seam.hold is not None:
            _check_hold(names, f"{where}, hold", seam.hold, seam.lead)
            if not seam.mirror:
                _check_hold(names, f"{where}, hold", seam.hold, seam.follow)


def _check_ease(names: Names, where: str, ease: EaseSaid) -> None:
    """Check that an ease for each size names every size of the set and no other."""
    sizes = names.pattern.sizes
    for one in eases_within(ease):
        if not isinstance(one, Ease) or not one.sizes:
            continue
        said = dict(one.sizes)
        names.known_sizes(where, said)
        missing = [size for size in sizes if size not in said]
        if missing:
            names.add(
                where,
                f"found no ease for size '{missing[0]}', expected one for each size of the set",
            )


def _check_ease_zones(names: Names, where: str, seam: Seam) -> None:
    """Check that the zones of an ease follow each other along the lead to its end."""
    ease = seam.ease
    if not isinstance(ease, Ease) or not ease.zones:
        return
    if ease.zones[-1][0] != "end":
        names.add(where, f"found the last zone up to '{ease.zones[-1][0]}', expected 'end'")
        return
    for to, _ in ease.zones[:-1]:
        if names.far_landmark(where, to) is None:
            return
    for size in names.pattern.sizes:
        lookup, at = names.pattern.in_size(size), 0.0
        for to, _ in ease.zones[:-1]:
            piece, _, landmark = to.partition(".")
            try:
                place = distance_on_run(lookup, seam.lead, piece, landmark)
            except PropagateError:
                return  # this size lacks the landmark: noted with the piece
            if place is None or place <= at + ON_LINE_MM:
                lies = "is not on it" if place is None else f"lies {place:.4g} mm along it"
                names.add(
                    where,
                    f"found '{to}', which {lies} in size '{size}', expected the zones in order "
                    f"along the lead; the zone before ends at {at:.4g} mm",
                )
                return
            at = place


def _check_notch(names: Names, where: str, text: str, run: Run) -> None:
    found = names.far_landmark(where, text)
    if found is None or not run:
        return
    piece, mark = found
    if not any(span.piece == piece and span.edge == mark.edge for span in run):
        edges = quote_names(span.key for span in run)
        names.add(
            where,
            f"found '{text}' on edge '{piece}.{mark.edge}', expected a landmark on {edges}; "
            "a pair is [lead's, follower's]",
        )


def _check_crossing(names: Names, where: str, text: str, run: Run, end: str) -> None:
    """Check that a crossing edge touches the seam at the end that it is given for."""
    piece, dot, edge = text.partition(".")
    if not (piece and dot and edge):
        names.add(where, f"found '{text}', expected PIECE.EDGE")
        return
    if names.edge(where, piece, edge) is None or not run:
        return
    span = run[0] if end == "start" else run[-1]
    if span.piece != piece:
        names.add(
            where,
            f"found '{text}', expected an edge of '{span.piece}', where '{span}' has the {end} "
            "of the run",
        )
        return
    for size in names.pattern.sizes:
        ends = names.ends(size, span)
        corners = [names.place(size, piece, edge, corner) for corner in ("start", "end")]
        if ends is None or None in corners:
            continue
        place = ends[0] if end == "start" else ends[1]
        if not any(corner is not None and are_near(corner, place) for corner in corners):
            names.add(
                where,
                f"found that '{text}' does not touch the {end} of the run at '{span}' in size "
                f"'{size}', expected it to; exchange start and end, or turn the run",
            )
            return


def _check_hold(names: Names, where: str, level: str, run: Run) -> None:
    """Check that a run knows the level: one of its pieces, or the lead of an assembly."""
    relations = names.pattern.relations
    pieces = list(dict.fromkeys(span.piece for span in run))
    pieces += [
        relations.assemblies[relations.parts_of[piece]].lead
        for piece in pieces
        if piece in relations.parts_of
    ]
    known = [sized.levels for piece in pieces if (sized := names.measure(piece)) is not None]
    if known and not any(level in levels for levels in known):
        of = " or ".join(f"piece '{piece}'" for piece in dict.fromkeys(pieces))
        names.unknown(where, "level", level, sorted(set(chain.from_iterable(known))), of)


# ---------------------------------------------------------------------------------- bands


def check_bands(names: Names) -> None:
    """Check each band's edges and that its zones follow each other without a gap."""
    for band in names.pattern.relations.bands.values():
        where = f"band '{band.name}'"
        sewn = names.edge(f"{where}, sewn", band.piece, band.sewn)
        names.edge(f"{where}, far", band.piece, band.far)
        if band.sewn == band.far:
            names.add(where, f"found '{band.far}' as sewn and far, expected two edges")
        sound = sewn is not None
        for zone in band.zones:
            place = f"{where}, zone '{zone.name}'"
            if sewn is not None:
                ends = [
                    names.on_edge(place, band.piece, band.sewn, n) for n in (zone.begin, zone.end)
                ]
                sound &= all(ends)
            _check_ease(names, f"{place}, ease", zone.ease)
            if zone.run:
                names.run(place, zone.run)
        for name in find_repeated([zone.name for zone in band.zones]):
            names.add(where, f"found zone '{name}' twice, expected each name once")
        if sound:
            _check_zones(names, where, band)


def _check_zones(names: Names, where: str, band: Band) -> None:
    """Check that zones cover the sewn edge from its start to its end, in order."""
    for size in names.pattern.sizes:
        whole = names.distance(size, band.piece, band.sewn, "end")
        at, name = 0.0, "start"
        for zone in band.zones:
            begin = names.distance(size, band.piece, band.sewn, zone.begin)
            end = names.distance(size, band.piece, band.sewn, zone.end)
            if begin is None or end is None:
                break  # this size lacks a landmark: noted with the piece
            if begin > at + ON_LINE_MM:
                _note_bare(names, where, band, name, zone.begin, size)
                return
            if begin < at - ON_LINE_MM or end <= begin + ON_LINE_MM:
                names.add(
                    f"{where}, zone '{zone.name}'",
                    f"found it from '{zone.begin}' ({begin:.4g} mm) to '{zone.end}' "
                    f"({end:.4g} mm) in size '{size}', expected it to begin at '{name}' "
                    f"({at:.4g} mm) and to run on; put the zones in order along '{band.sewn}'",
                )
                return
            at, name = end, zone.end
        else:
            if whole is not None and at < whole - ON_LINE_MM:
                _note_bare(names, where, band, name, "end", size)
                return


def _note_bare(names: Names, where: str, band: Band, begin: str, end: str, size: str) -> None:
    names.add(
        where,
        f"found edge '{band.sewn}' without a zone from '{begin}' to '{end}' (size '{size}'), "
        "expected zones from its start to its end; add the missing zone",
    )


# ------------------------------------------------------------------------ girths and places


def check_girths(names: Names) -> None:
    """Check the runs, level, silhouettes and chart row of each girth."""
    for girth in names.pattern.relations.girths.values():
        where = f"girth '{girth.name}'"
        if bool(girth.runs) == (girth.level is not None):
            names.add(where, "expected either runs, or a level with silhouettes")
        for run in girth.runs:
            names.run(where, run)
        for silhouette in girth.silhouettes:
            found = names.silhouette(where, silhouette)
            if found is not None and girth.level is not None:
                names.level(where, found[0], girth.level)
        if girth.chart is not None and girth.chart not in names.pattern.chart:
            names.unknown(where, "row of the chart", girth.chart, list(names.pattern.chart))


def check_places(names: Names) -> None:
    """Check that the piece exists and that some piece has the level."""
    for place in names.pattern.relations.places.values():
        where = f"place of '{place.piece}'"
        names.piece(where, place.piece)
        if place.level not in names.all_levels:
            names.unknown(where, "level", place.level, names.all_levels)


def check_runs_of_others(names: Names) -> None:
    """Check the runs of relations of kinds that bring no checks of their own."""
    for key, kind in KINDS.items():
        if kind.kept:
            continue
        for name, relation in relations_of(names.pattern.relations, key).items():
            for said, run in runs_of(relation):
                names.run(f"{key} '{name}', {said}", run)


def check_tapes(names: Names) -> None:
    """Check what each tape is sewn to, and an ease for each size."""
    for tape in names.pattern.relations.tapes.values():
        names.run(f"tape '{tape.name}', run", tape.run)
        _check_ease(names, f"tape '{tape.name}', ease", tape.ease)


# ---------------------------------------------------------------------------------- cycles


def check_cycles(names: Names) -> None:
    """Name the pieces on each cycle of leads."""
    relations = names.pattern.relations
    led: list[tuple[str, Run, list[str]]] = [
        (f"seam '{seam.name}'", seam.lead, [span.key for span in seam.follow])
        for seam in relations.seams.values()
        if not seam.check and not seam.mirror
    ]
    for band in relations.bands.values():
        run = tuple(chain.from_iterable(zone.run for zone in band.zones))
        sides = [f"{band.piece}.{band.sewn}", f"{band.piece}.{band.far}"]
        led.append((f"band '{band.name}'", run, sides))
    led_by: dict[str, list[str]] = {}
    for label, lead, follow in led:
        led_by.setdefault(label, []).extend(span.key for span in lead)
        for key in follow:
            led_by.setdefault(key, []).append(label)
    try:
        TopologicalSorter(led_by).prepare()
    except CycleError:
        _note_cycles(names, led_by)


def _note_cycles(names: Names, led_by: Mapping[str, Sequence[str]]) -> None:
    import networkx as nx  # takes longer to load than a sound set to check

    graph = nx.DiGraph([(lead, node) for node, leads in led_by.items() for lead in leads])
    for nodes in nx.strongly_connected_components(graph):
        part = graph.subgraph(sorted(nodes))
        if part.number_of_edges() == 0:
            continue
        path = [edge[0] for edge in nx.find_cycle(part)]
        keys = [node for node in path if not node.startswith(("seam '", "band '"))]
        seams = [node for node in path if node.startswith("seam '")]
        if len(keys) == 1 and len(seams) == 1:
            names.add(
                seams[0],
                f"found '{keys[0]}' on both sides, expected another edge on one of them; where an "
                "edge is sewn to its own mirrored twin leave 'follow' out and write mirror = true",
            )
            continue
        if len(keys) == 2 and len(seams) == 2:
            names.add(
                " and ".join(sorted(seams)),
                f"found '{min(keys)}' and '{max(keys)}' sewn to each other twice, each leading "
                "once, expected one seam for the two edges; take one of the two seams out, or name "
                "the edge that was meant",
            )
            continue
        start = path.index(min(keys))
        path = [*path[start:], *path[:start], path[start]]
        pieces = quote_names(sorted({key.partition(".")[0] for key in keys}))
        names.add(
            "relations",
            f"found a cycle of leads, {' -> '.join(path)}: each of the pieces {pieces} waits for "
            "the other, expected leads in one direction; exchange lead and follow in one of them",
        )
