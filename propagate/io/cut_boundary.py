"""Drawings of cut lines: what was said of their allowances, and the pieces taken back with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from propagate.engine.finish import allowances, cut_line
from propagate.errors import FormatError, PropagateError, nearest_names
from propagate.geometry.inward import gaps_between
from propagate.io.options import DxfChoices, ReadOptions, allowance_said
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array, Piece, SizedPiece
from propagate.pattern.names import quote_names
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from propagate.recognise.cut_pieces import finished_allowance, take_to_seam_line
from propagate.recognise.drawn_seams import allowances_between, close_on_fold, drawn_seam
from propagate.recognise.finishes_between import finishes_between
from propagate.recognise.seam_lines import Finishes
from propagate.values import dataclass

__all__ = [
    "AllowancesSaid",
    "allowances_of_dxf",
    "allowances_wished",
    "seam_of_piece",
    "with_finishes",
    "with_seam_lines",
]

OPTION = "--allowance"
APART_MM = 0.5
SAME_MM = 0.02
"""A cut line of the program this near to the drawn one is the same."""
_UNLIKE = (
    "the drawn seam line has other corners than the cut line; the one that lies inside the cut "
    "line by the measured allowances is taken: look at it"
)
_LAPPED = (
    "its cut line has a hollow tighter than the allowance, which does not tell what the seam line "
    "does there: the lines on both sides were run on; look at it"
)


@dataclass(frozen=True)
class AllowancesSaid:
    """The allowances that a user gave.

    Attributes
    ----------
    default : float or None
        mm, of every edge that is not named.
    edges : mapping of edge name, or (piece, edge), to mm
    of_set : frozenset
        Keys of edges that need not be there.
    """

    default: float | None
    edges: Mapping[str | tuple[str, str], float]
    of_set: frozenset[str | tuple[str, str]] = frozenset()

    def of(self, piece: str, edge: str) -> float | None:
        """The allowance of an edge; that of its own piece counts before that of its name."""
        own = self.edges.get((piece, edge), self.edges.get(edge))
        return self.default if own is None else own

    def widths(self, piece: str, edges: Sequence[str], fold: str | None) -> dict[str, float]:
        """Allowance of every edge of a piece, mm; 0 on the fold unless the fold is named.

        Raises
        ------
        FormatError
            Nothing was said of an edge.
        """
        found: dict[str, float] = {}
        for edge in edges:
            said = self.of(piece, edge)
            if edge == fold and (piece, edge) not in self.edges and edge not in self.edges:
                said = 0.0
            if said is None:
                raise FormatError(
                    f"piece '{piece}', edge '{edge}': found no allowance, expected one for every "
                    f"edge of a cut line: say {OPTION} 10mm for all, and {OPTION} {edge}=10mm for "
                    "one"
                )
            found[edge] = said
        return found

    def check_names(self, pieces: Mapping[str, Sequence[str]]) -> None:
        """Refuse names of edges and pieces that are not there.

        Parameters
        ----------
        pieces : mapping of piece to the names of the edges of its cut line

        Raises
        ------
        FormatError
        """
        every = list(dict.fromkeys(edge for edges in pieces.values() for edge in edges))
        for key in (key for key in self.edges if key not in self.of_set):
            if isinstance(key, str):
                if key not in every:
                    raise _unknown(f"no edge '{key}' on any piece", key, every)
            elif key[0] not in pieces:
                raise _unknown(f"no piece '{key[0]}'", key[0], list(pieces))
            elif key[1] not in pieces[key[0]]:
                own = list(pieces[key[0]])
                raise _unknown(f"no edge '{key[1]}' on piece '{key[0]}'", key[1], own)


def _unknown(what: str, name: str, known: Sequence[str]) -> FormatError:
    near = nearest_names(name, known)
    cure = f"did you mean {near}?" if near else f"expected one of {', '.join(known)}"
    return FormatError(f"{OPTION}: found {what}; {cure}")


def allowances_wished(options: ReadOptions) -> AllowancesSaid | None:
    """What was said of a drawing of cut lines; None where outlines are seam lines.

    Raises
    ------
    FormatError
        An allowance is no length or below 0, is said twice, or said of seam lines.
    """
    if options.boundary != "cut":
        if options.allowances:
            raise FormatError(
                f"found {OPTION} {options.allowances[0]}, expected it beside --boundary cut: a "
                "seam line is taken as it is drawn"
            )
        return None
    default: float | None = None
    edges: dict[str | tuple[str, str], float] = {}
    of_set: set[str | tuple[str, str]] = set()
    for text in (*options.allowances, *options.allowances_of_set):
        name, equals, said = text.rpartition("=")
        if not equals:
            if default is not None:
                raise FormatError(f"found {OPTION} {text}, expected one for all edges, once")
            default = allowance_said(text)
            continue
        piece, dot, edge = name.rpartition(".")
        key: str | tuple[str, str] = (piece, edge) if dot else name
        if not name or (dot and not (piece and edge)):
            raise FormatError(
                f"found {OPTION} {text}, expected a length, EDGE=LENGTH or PIECE.EDGE=LENGTH"
            )
        if text in options.allowances_of_set:
            if key not in edges:
                edges[key] = allowance_said(said)
                of_set.add(key)
            continue
        if key in edges:
            raise FormatError(f"found {OPTION} {name}=... twice, expected it once")
        edges[key] = allowance_said(said)
    return AllowancesSaid(default, edges, frozenset(of_set))


def allowances_of_dxf(options: ReadOptions, choices: DxfChoices) -> AllowancesSaid | None:
    """What was said of a DXF whose boundaries are cut lines, also by the choices of its reader.

    Raises
    ------
    FormatError
        As `allowances_wished`.
    """
    said = allowances_wished(replace(options, boundary=choices.boundary))
    asked = options.boundary == "cut" or options.allowances
    if said is None or said.default is not None or (asked and "allowance" not in options.dxf):
        return said
    return replace(said, default=choices.allowance)


def with_seam_lines(
    pattern: PatternSet, said: AllowancesSaid, notes: ReportNotes, *, along_legs: bool = True
) -> PatternSet:
    """A set whose outlines are cut lines as the set that is sewn.

    Parameters
    ----------
    along_legs : bool
        See `propagate.recognise.cut_pieces.take_to_seam_line`.

    Raises
    ------
    FormatError
        An edge is not there, has no allowance, or one wider than there is room for.
    """
    said.check_names({name: p.at(pattern.base).edge_names for name, p in pattern.pieces.items()})
    pieces, info = {}, {}
    for name, piece in pattern.pieces.items():
        own = pattern.info[name]
        drawn = {size: close_on_fold(sized) for size, sized in piece.nest.items()}
        seam = drawn_seam(drawn)
        if seam is None:
            widths = said.widths(name, piece.at(pattern.base).edge_names, own.fold)
        else:
            widths = _measure_allowances(name, drawn, seam, said, notes)
        nest, info[name] = seam_of_piece(
            name, drawn, widths, own, notes, along_legs=along_legs, seam=seam
        )
        pieces[name] = Piece(name, nest)
    return replace(pattern, pieces=pieces, info=info)


def seam_of_piece(
    name: str,
    nest: Mapping[str, SizedPiece],
    widths: Mapping[str, float],
    info: PieceInfo,
    notes: ReportNotes,
    *,
    along_legs: bool,
    seam: str | None = None,
) -> tuple[Mapping[str, SizedPiece], PieceInfo]:
    """A piece that is drawn by its cut line on its seam line, with its allowances, and told.

    Raises
    ------
    FormatError
        As `propagate.recognise.seam_lines.seam_lines`.
    """
    found = take_to_seam_line(name, nest, widths, info.fold, along_legs=along_legs, seam=seam)
    own = replace(info, allowance=found.allowance)
    _tell_finishes(name, own.allowance, notes)
    if found.added:
        text = f"{quote_names(found.added)} of the cut line belongs to how a corner is "
        text += "finished and is no edge of the seam line"
        notes.add("found", text, piece=name)
    for size in found.unlike:
        notes.add("warning", _UNLIKE, piece=name, size=size)
    for size, lapped in found.lapped.items():
        for edge in lapped:
            notes.add("warning", _LAPPED, piece=name, size=size, edge=edge)
    lines = {
        size: ({edge.name: edge.points for edge in drawn.edges}, drawn.outline)
        for size, drawn in nest.items()
    }
    _tell_misfits(name, found.nest, lines, own, notes)
    return found.nest, own


def _measure_allowances(
    name: str,
    nest: Mapping[str, SizedPiece],
    seam: str,
    said: AllowancesSaid,
    notes: ReportNotes,
) -> dict[str, float]:
    """The allowances between the two lines of a piece: the middle one of all sizes."""
    rows: dict[str, list[float]] = {}
    for sized in nest.values():
        ring = next(line.points for line in sized.lines if line.name == seam)
        found = allowances_between([edge.points for edge in sized.edges], ring[:-1])
        for edge, one in zip(sized.edge_names, found, strict=True):
            rows.setdefault(edge, []).append(one.width)
    widths = {edge: sorted(own)[(len(own) - 1) // 2] for edge, own in rows.items()}
    notes.add(
        "found",
        f"the line '{seam}' inside the outline is its seam line; the allowances between the two "
        "are measured",
        piece=name,
    )
    for edge, own in rows.items():
        least, most = min(own), max(own)
        asked = said.of(name, edge)
        if most - least > APART_MM:
            notes.add(
                "warning",
                f"the sizes have allowances of {least:g} to {most:g} mm, and a piece has one: "
                f"{widths[edge]:g} mm is taken; the cut line changes where it is another",
                piece=name,
                edge=edge,
            )
        named = edge in said.edges or (name, edge) in said.edges
        if named and asked is not None and abs(asked - widths[edge]) > APART_MM:
            notes.add(
                "warning",
                f"an allowance of {asked:g} mm was said, {widths[edge]:g} mm is drawn and taken; "
                "leave it out, or mend the drawing",
                option=OPTION,
                piece=name,
                edge=edge,
            )
    return widths


def _tell_finishes(name: str, allowance: Allowance, notes: ReportNotes) -> None:
    """Say which corners are more than a mitre."""
    for edge in sorted(allowance.turned):
        notes.add(
            "found", f"'{edge}' is turned: beyond it the cut line mirrors the piece", piece=name
        )
    for corner, style in allowance.corners.items():
        if style != "mitre":
            notes.add("found", f"the corner '{corner}' of the cut line is {style}", piece=name)


def with_finishes(
    name: str,
    nest: Mapping[str, SizedPiece],
    rings: Mapping[str, Array],
    base: str,
    info: PieceInfo,
    notes: ReportNotes,
) -> PieceInfo:
    """Tell how the corners are finished of a piece whose cut line is drawn beside its seam line.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
        On the seam line.
    rings : mapping of size to (n, 2) array, mm
        The cut line, closed, its first point not repeated.
    info : PieceInfo
        With the allowances.
    """
    widths = allowances(nest[base], info)
    edges = nest[base].edges
    kinds = finishes_between(edges, [widths[edge.name] for edge in edges], rings[base])
    finishes = Finishes(frozenset(), kinds)
    own = {size: sized.edges for size, sized in nest.items()}
    names = nest[base].edge_names
    told = finished_allowance(names, own, finishes, widths, info.fold)
    info = replace(info, allowance=told)
    _tell_finishes(name, told, notes)
    none: Mapping[str, Array] = {}
    lines = {size: (none, ring) for size, ring in rings.items()}
    _tell_misfits(name, nest, lines, info, notes)
    return info


def _tell_misfits(
    name: str,
    nest: Mapping[str, SizedPiece],
    drawn: Mapping[str, tuple[Mapping[str, Array], Array]],
    info: PieceInfo,
    notes: ReportNotes,
) -> None:
    """Say where the program's own cut line is not the drawn one.

    `drawn` has the lines of edges, as far as they are known, and the whole line.
    """
    for size, sized in nest.items():
        try:
            line = cut_line(sized, info, size=size)
        except PropagateError as error:
            notes.add("warning", f"no cut line can be built: {error}", piece=name, size=size)
            continue
        parts, whole = drawn[size]
        for edge in sized.edges:
            gaps = [gaps_between(part, whole) for part in line.stretches.get(edge.name, ())]
            if edge.name in parts:
                gaps.append(gaps_between(parts[edge.name], line.points))
            gap = max((float(own.max()) for own in gaps), default=0.0)
            if gap <= SAME_MM:
                continue
            notes.add(
                "warning",
                f"the cut line with this allowance lies up to {gap:.2f} mm off the drawn one; look "
                "at its corners, or give it another allowance",
                option=f"{OPTION} {name}.{edge.name}=...",
                piece=name,
                size=size,
                edge=edge.name,
            )
