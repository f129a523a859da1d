"""What can be wrong with what a set says of derived pieces and of openings in seams."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial

from propagate.pattern.amount import Amount
from propagate.pattern.dart_pleats import DartPleat, dart_pleats
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.model import SizedPiece
from propagate.pattern.names import Names, find_repeated
from propagate.pattern.relations import Run

__all__ = ["check_derived", "check_seam_openings"]


def check_seam_openings(names: Names) -> None:
    """Check that each side of an opening in a seam is one span between two marks."""
    for opening in names.pattern.relations.seam_openings.values():
        where = f"seam opening '{opening.name}'"
        if not opening.sides:
            names.add(where, "found no side, expected one or more")
        if opening.change == "nearest" and not opening.lengths:
            names.add(where, 'found change = "nearest" without lengths, expected what is on offer')
        for run in opening.sides:
            names.run(f"{where}, sides", run)
            whole = [{span.begin, span.end} == {"start", "end"} for span in run]
            if whole != [False]:
                names.add(
                    f"{where}, sides",
                    f"found {' + '.join(map(str, run)) or 'nothing'}, expected one span with a "
                    "mark at one end of it or at both",
                )


def check_derived(names: Names) -> None:
    """Check the pieces, edges and marks of each derived piece, and that nothing else writes it."""
    for derived in names.pattern.relations.derived.values():
        where = f"derived piece '{derived.piece}'"
        piece = names.piece(where, derived.piece)
        main = names.silhouette(f"{where}, of", derived.of)
        if main is None:
            continue
        if derived.piece in {span.piece for run in main[1].values() for span in run}:
            names.add(where, f"found that it is a part of '{derived.of}', expected another piece")
        for edge in derived.closed_edges:
            names.silhouette_edge(f"{where}, closed", derived.of, edge)
        _check_pleated(names, where, derived)
        if not derived.edges:
            names.add(where, "found no edge that follows the main piece, expected one or more")
        _check_edges(names, where, derived, piece)
        relations = names.pattern.relations
        said = {f"{derived.piece}.{one.edge}" for one in derived.edges}
        for seam in relations.seams.values():
            if seam.check or seam.mirror or seam.fixed:
                continue
            for key in sorted({span.key for span in seam.follow} & said):
                names.add(
                    where,
                    f"found that '{key}' follows in seam '{seam.name}' as well, expected one of "
                    "the two; write check = true in the seam, which is then walked alone",
                )
        for what, made in (
            ("a band", {band.piece for band in relations.bands.values()}),
            ("a layer of a stack", relations.layer_in),
            ("taken by its place", relations.places),
        ):
            if derived.piece in made:
                names.add(where, f"found that it is {what} as well, expected one of the two")


def _check_pleated(names: Names, where: str, derived: Derived) -> None:
    """Check that darts which are pleats in it are nothing else, and their notches its own."""
    pattern, place = names.pattern, f"{where}, pleated"
    for edge in derived.pleated_edges:
        names.silhouette_edge(place, derived.of, edge)
        if edge in derived.closed_edges:
            names.add(place, f"found '{edge}', which 'closed' names too, expected one of the two")
        if all(one.on != edge for one in derived.edges):
            names.add(place, f"found '{edge}', on which no edge of it lies, expected one that does")
    told = {
        (span.edge, mark): pleats.name
        for pleats in pattern.relations.pleats.values()
        for span in pleats.run
        for row in pleats.pleats
        for mark in row.marks
        if span.piece == derived.piece
    }
    said: set[str] = set()
    for size in pattern.sizes if derived.pleated else ():
        lookup = partial(names.sized, size=size)
        made = dart_pleats(derived, pattern.relations.assemblies, lookup)
        own = lookup(derived.piece)
        said.update(_wrong_notches(own, made, told) if own is not None else ())
    for text in sorted(said):
        names.add(place, text)


def _wrong_notches(
    own: SizedPiece, made: Sequence[DartPleat], told: Mapping[tuple[str, str], str]
) -> Iterator[str]:
    """What is wrong with the notches of pleats in place of darts, in one size."""
    marks = [leg for one in made for leg in one.pleat.marks]
    on = {mark.name: mark.edge for mark in own.landmarks}
    for one in made:
        edge, legs = one.pleat.edge, one.pleat.marks
        for leg in legs:
            if on.get(leg, edge) != edge:
                yield f"found its mark '{leg}' on '{on[leg]}', expected the notch on '{edge}'"
            if marks.count(leg) > 1:
                yield f"found two legs called '{leg}', expected names of their own"
            if (edge, leg) in told:
                other = told[edge, leg]
                yield f"found '{leg}', which pleats '{other}' has too; leave it out there"
        if any(dart.edge == edge and {*dart.legs} & {*legs} for dart in own.darts):
            yield (
                f"found that dart '{one.dart.name}' is a dart in it, expected notches alone; take "
                "the dart out, or leave 'pleated' out"
            )


def _check_edges(names: Names, where: str, derived: Derived, piece: SizedPiece | None) -> None:
    said = [one.edge for one in derived.edges]
    for name in find_repeated(said):
        names.add(where, f"found edge '{name}' twice, expected each edge once")
    for one in derived.edges:
        place = f"{where}, edge '{one.edge}'"
        for key, width in (("out", one.out), ("in", one.inside)):
            if isinstance(width, Amount):  # said by size, and then for each
                sized = [size for size, _ in width.sizes]
                names.known_sizes(f"{place}, {key}", sized)
                missing = [size for size in names.pattern.sizes if size not in sized]
                if missing:
                    names.add(
                        f"{place}, {key}",
                        f"found no width for size '{', '.join(missing)}', expected one for each "
                        "size",
                    )
        run = _check_line(names, place, derived, one)
        if piece is None or names.edge(place, derived.piece, one.edge) is None:
            continue
        i = piece.edge_names.index(one.edge)
        count = len(piece.edge_names)
        beside = {"start": piece.edge_names[i - 1], "end": piece.edge_names[(i + 1) % count]}
        for end, mark in (("start", one.start), ("end", one.end)):
            if mark is None:
                continue
            if beside[end] in said:
                names.add(
                    f"{place}, {end}",
                    f"found '{mark}' beside '{beside[end]}', which follows the main piece too: "
                    "the two meet where their lines cross; leave it out",
                )
            elif one.line and mark not in ("start", "end"):
                names.add(
                    f"{place}, {end}",
                    f"found '{mark}' beside a line, expected one of its ends, 'start' or 'end'",
                )
            elif run and mark not in ("start", "end"):
                if derived.of not in names.pattern.relations.assemblies:
                    names.on_edge(f"{place}, {end}", derived.of, one.on, mark)
                    continue
                found = names.far_landmark(f"{place}, {end}", mark)
                keys = {span.key for span in run}
                if found is not None and f"{found[0]}.{found[1].edge}" not in keys:
                    names.add(
                        f"{place}, {end}", f"found '{mark}', which does not lie on '{one.on}'"
                    )


def _check_line(names: Names, where: str, derived: Derived, one: DerivedEdge) -> Run | None:
    """Check the line of the main piece; returns the run of its edge."""
    if bool(one.on) == bool(one.line):
        names.add(where, "expected either 'on', or 'line' (one or the other)")
        return None
    if one.on:
        return names.silhouette_edge(where, derived.of, one.on)
    if one.from_cut:
        names.add(where, "found from_cut beside a line, which has no allowance; leave it out")
    name, line = derived.of, one.line
    assembly = names.pattern.relations.assemblies.get(derived.of)
    if assembly is not None:
        name, dot, line = one.line.partition(".")
        if not dot or name not in assembly.pieces:
            lines = [f"{part}.LINE" for part in assembly.pieces]
            names.unknown(f"{where}, line", "line", one.line, lines, f"assembly '{derived.of}'")
            return None
    nest = names.pattern.pieces[name].nest if name in names.pattern.pieces else {}
    for size, sized in nest.items():
        known = [inner.name for inner in sized.lines]
        if line not in known:
            names.unknown(f"{where}, line", "line", line, known, f"piece '{name}', size '{size}'")
            break
    return ()
