"""What can be wrong with what a set says of buttons, pleats, patches, welt openings and copies."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from propagate.pattern.buttons import marks_called
from propagate.pattern.model import Pleat, SizedPiece
from propagate.pattern.names import Names, quote_names
from propagate.pattern.pleats import PleatMarks
from propagate.pattern.runs import Span
from propagate.pattern.welts import WeltOpening, anchor_kind, length_said, part_span
from propagate.tolerances import ON_LINE_MM

__all__ = ["check_alike", "check_buttons", "check_patches", "check_pleats", "check_welts"]


def check_buttons(names: Names) -> None:
    """Check that each side is one span, has a name of its marks, and a mark in every size."""
    for buttons in names.pattern.relations.buttons.values():
        where = f"buttons '{buttons.name}'"
        if not buttons.sides or len(buttons.sides) != len(buttons.marks):
            names.add(
                where,
                f"found {len(buttons.sides)} sides and {len(buttons.marks)} names of marks, "
                "expected one name for each side, and a side at least",
            )
        if buttons.spacing <= 0.0:
            names.add(where, "found a spacing of 0, expected how far apart they lie at most")
        for run in buttons.sides:
            names.run(f"{where}, sides", run)
            names.one_span(f"{where}, sides", run)
        for run, name in zip(buttons.sides, buttons.marks, strict=False):
            piece = names.pattern.pieces.get(run[0].piece) if run else None
            for size, sized in piece.nest.items() if piece is not None else ():
                if not marks_called(sized, name):
                    names.add(
                        f"{where}, marks",
                        f"found no drill mark and no inner line '{name}_1' on '{run[0].piece}' in "
                        f"size '{size}', expected one or more",
                    )


# --------------------------------------------------------------------------------- pleats


def check_pleats(names: Names) -> None:
    """Check that the run is one span, and that each pleat has its marks there, and alone."""
    taken: dict[tuple[str, str], str] = {}
    for pleats in names.pattern.relations.pleats.values():
        where = f"pleats '{pleats.name}'"
        if not names.one_span(f"{where}, run", pleats.run):
            continue
        if not pleats.pleats:
            names.add(where, "found no pleat, expected one or more with their marks")
        if pleats.depth is not None and (pleats.depth <= 0.0 or pleats.keep == "ratio"):
            beside = ' beside keep = "ratio"' if pleats.keep == "ratio" else ""
            names.add(
                f"{where}, depth",
                f"found {pleats.depth:g} mm{beside}, expected how deep each is folded, where that "
                "is the same for every length",
            )
        for row in pleats.pleats:
            place, span = f"{where}, pleat '{row.name}'", pleats.run[0]
            if not 2 <= len(row.marks) <= 4 or len(set(row.marks)) != len(row.marks):
                names.add(
                    place,
                    f"found the marks {', '.join(row.marks) or 'none'}, expected two to four "
                    f"landmarks of '{span.key}'",
                )
            for mark in row.marks:
                on_edge = names.on_edge(place, span.piece, span.edge, mark)
                if on_edge and mark in ("start", "end"):
                    names.add(
                        place, f"found '{mark}', expected a landmark that can move along the edge"
                    )
                other = taken.setdefault((span.piece, mark), place)
                if other != place:
                    names.add(
                        place, f"found '{mark}', which {other} has too, expected marks of its own"
                    )
            _check_darts_beside(names, place, span, row)


def _check_darts_beside(names: Names, where: str, span: Span, row: PleatMarks) -> None:
    """Check that no dart lies in what the pleat folds away: the cloth is taken up once."""
    for size in names.pattern.sizes:
        piece = names.sized(span.piece, size)
        if piece is None or not 2 <= len(row.marks) <= 4:
            continue
        if not {*row.marks} <= {mark.name for mark in piece.landmarks_on(span.edge)}:
            continue
        at = sorted(piece.distance(span.edge, mark) for mark in row.marks)
        folds = [(at[a], at[b]) for a, b in Pleat(span.edge, row.marks).folds]
        for dart in piece.darts:
            if dart.edge != span.edge:
                continue
            low, high = sorted(piece.distance(span.edge, leg) for leg in dart.legs)
            if any(min(high, b) - max(low, a) > ON_LINE_MM for a, b in folds):
                names.add(
                    where,
                    f"found dart '{dart.name}' within what it folds away in size {size}, expected "
                    "the two beside each other, since the cloth between them is taken up once; "
                    "move one of them, or leave the dart out and make the pleat deeper",
                )
                return


# -------------------------------------------------------------- patches and welt openings


def check_patches(names: Names) -> None:
    """Check that the place, its edges and what is set on exist."""
    for patch in names.pattern.relations.patches.values():
        where = f"patch '{patch.name}'"
        piece = names.piece(f"{where}, on", patch.on)
        if patch.piece is not None:
            names.piece(f"{where}, piece", patch.piece)
        if not patch.lines:
            names.add(where, "found no line, expected one or more that mark the place")
        if len(patch.edges) > 2 or len(set(patch.edges)) != len(patch.edges):
            names.add(
                f"{where}, from",
                f"found {', '.join(patch.edges)}, expected one edge, or two that differ",
            )
        if piece is not None:
            for edge in patch.edges:
                names.edge(f"{where}, from", patch.on, edge)
            _check_inner(names, where, patch.on, {"line": patch.lines, "drill mark": patch.drills})


def check_welts(names: Names) -> None:
    """Check that the line, its marks, anchors and parts exist, and that lengths are lengths."""
    derived = names.pattern.relations.derived
    for opening in names.pattern.relations.welt_openings.values():
        where = f"welt opening '{opening.name}'"
        piece = names.piece(f"{where}, on", opening.on)
        if piece is not None:
            _check_anchors(names, where, opening, piece)
            inner = {"line": (opening.line,), "line or drill mark": opening.marks}
            _check_inner(names, where, opening.on, inner)
        if opening.length is not None and opening.length.share is not None:
            names.add(f"{where}, length", "found a share, expected a length in mm, or one by size")
        elif opening.length is not None:
            for size in names.pattern.sizes:
                mm = length_said(opening, size)
                if mm is None:
                    names.add(f"{where}, length", f"found none for size '{size}', expected one")
                elif not (math.isfinite(mm) and mm > 0.0):
                    names.add(f"{where}, length", f"found {mm:g} mm, expected more than 0")
            names.known_sizes(f"{where}, length", dict(opening.length.sizes))
        for part in opening.parts:
            place = f"{where}, part '{part.piece}'"
            if part.piece == opening.on:
                names.add(place, "found the main piece itself, expected a piece that is sewn to it")
            if part.piece in derived:
                names.add(
                    place,
                    f"found that it is derived from '{derived[part.piece].of}' too, expected one "
                    "of the two to say how long it is",
                )
            names.span(place, part_span(part))


def _check_inner(names: Names, where: str, piece: str, said: Mapping[str, Sequence[str]]) -> None:
    """Check that a piece has lines and drill marks in every size; `said` by what they are."""
    for size, sized in names.pattern.pieces[piece].nest.items():
        lines = [line.name for line in sized.lines]
        drills = [mark.name for mark in sized.drills]
        known = {"line": lines, "drill mark": drills, "line or drill mark": [*lines, *drills]}
        for what, wanted in said.items():
            for name in wanted:
                if name not in known[what]:
                    names.add(
                        where,
                        f"found no {what} '{name}' on '{piece}' in size '{size}', expected one of "
                        f"{', '.join(known[what]) or 'none'}",
                    )


def _check_anchors(names: Names, where: str, opening: WeltOpening, piece: SizedPiece) -> None:
    said = opening.anchors
    if len(said) > 2 or len(set(said)) != len(said):
        names.add(f"{where}, from", f"found {', '.join(said)}, expected one, or two that differ")
    kinds = {name: anchor_kind(piece, name) for name in said}
    for name, kind in kinds.items():
        if kind is None:
            known = [
                *piece.edge_names,
                *(dart.name for dart in piece.darts),
                *(mark.name for mark in piece.landmarks),
                *piece.levels,
            ]
            names.unknown(
                f"{where}, from", "edge, dart, landmark or level", name, known, f"'{opening.on}'"
            )
    if set(kinds.values()) == {"level"}:
        names.add(
            f"{where}, from",
            f"found {' and '.join(said)}, expected an edge, a dart or a landmark as well: a level "
            "does not say where along it the opening lies",
        )


# --------------------------------------------------------------------------------- copies


def check_alike(names: Names) -> None:
    """Check that copies exist, are called alike, and are drawn by nothing else as a whole."""
    relations = names.pattern.relations
    made: dict[str, Collection[str]] = {
        "is derived": relations.derived,
        "is taken in the size of its place": relations.places,
        "is drawn by a band": {band.piece for band in relations.bands.values()},
        "is a layer of a stack": relations.layer_in,
    }
    owner: dict[str, str] = {}
    for alike in relations.alike.values():
        where = f"alike '{alike.name}'"
        if len(set(alike.pieces)) < 2 or len(set(alike.pieces)) != len(alike.pieces):
            names.add(
                f"{where}, pieces",
                f"found {', '.join(alike.pieces) or 'none'}, expected two or more that differ",
            )
            continue
        found = {piece: names.piece(f"{where}, pieces", piece) for piece in alike.pieces}
        for piece in alike.pieces:
            for what, known in made.items():
                if piece in known:
                    names.add(where, f"found that '{piece}' {what}, expected a piece that is drawn")
            if owner.setdefault(piece, alike.name) != alike.name:
                names.add(
                    where, f"found '{piece}' among other copies too, expected each piece once"
                )
        first, *others = alike.pieces
        model = found[first]
        for other in others:
            copy = found[other]
            if model is None or copy is None:
                continue
            marks = ([mark.name for mark in one.landmarks] for one in (model, copy))
            for kind, mine, theirs in (
                ("edges", model.edge_names, copy.edge_names),
                ("landmarks", *marks),
            ):
                if set(mine) != set(theirs):
                    names.add(
                        where,
                        f"found {kind} of '{first}' and '{other}' that the other one has not "
                        f"({quote_names(sorted(set(mine) ^ set(theirs)))}), expected the same "
                        "names on both",
                    )
