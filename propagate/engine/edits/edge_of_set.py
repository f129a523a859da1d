"""The edge that an edit names: of a piece, or of an outline that is taped together.

Where a pocket, a yoke or a facing takes part of a line, the line is an edge of the
assembly; an edit of it is drawn on the pieces as they lie taped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.edits.moving import Moved
from propagate.engine.graph import silhouette_node
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.levels import level_crossings
from propagate.engine.marks_on_lines import put_mark
from propagate.engine.record import EDIT, Change, ChangeKind, Notice
from propagate.engine.reshape import Edited, Source, share_corners, start_edit
from propagate.engine.tape import Silhouette, tape
from propagate.errors import EditError, UnknownName
from propagate.lengths import parse_length
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Opening
from propagate.tolerances import DRAWN_MM
from propagate.values import dataclass

__all__ = [
    "EdgeOfSet",
    "drawn_edges",
    "edge_of_set",
    "edge_place",
    "has_place",
    "opening_on",
    "refuse_opening",
    "whole_edges",
]

_LEVEL_NEAR_MM = 60.0
"""A level that an edge ends short of by less is meant to be that end (a shaped waist)."""
_MOST_NAMED = 5
"""Edges that are named where one of them was meant."""
_CROSSES_NEAR_MM = 25.0
"""So is one that an edge crosses this near to its end: a waist rises towards the side by 5 to
20 mm (common practice, no source), and what is taken in there is taken in at the corner."""


@dataclass(frozen=True)
class EdgeOfSet:
    """An edge, the outline that it belongs to, and where that lies in the set.

    Attributes
    ----------
    owner : str
        Piece, or assembly.
    edge : Edge
    edges : tuple of Edge
        The whole outline, counter-clockwise.
    piece : SizedPiece
        Whose grain and levels hold: the piece, or the lead of the assembly.
    taped : Silhouette or None
        None for a piece.
    where : str
        Set, piece or assembly, and size, for messages.
    """

    owner: str
    edge: Edge
    edges: tuple[Edge, ...]
    piece: SizedPiece
    taped: Silhouette | None
    where: str

    @classmethod
    def on_piece(cls, owner: str, edge: Edge, piece: SizedPiece, where: str) -> EdgeOfSet:
        """An edge of a piece by itself, on which places are named."""
        return cls(owner, edge, piece.edges, piece, None, where)

    @property
    def key(self) -> str:
        """``OWNER.EDGE``."""
        return f"{self.owner}.{self.edge.name}"

    @property
    def lead(self) -> str:
        """The piece whose grain and levels hold."""
        return self.owner if self.taped is None else self.taped.lead

    @property
    def pieces(self) -> Mapping[str, SizedPiece]:
        """The pieces of the outline, by name."""
        return {self.owner: self.piece} if self.taped is None else self.taped.sized

    def place(self, piece: str, mark: str) -> float | None:
        """Distance of a landmark of one of the pieces along the edge, mm; None off it."""
        if self.taped is not None:
            name, at = self.taped.place(piece, mark) or ("", 0.0)
        else:
            name = self.piece.landmark(mark).edge
            at = self.piece.distance(name, mark)
        return at if name == self.edge.name else None

    def marks(self) -> Iterator[tuple[str, Landmark, float]]:
        """The landmarks on it: piece, landmark, and its distance along the edge, mm."""
        for name, piece in self.pieces.items():
            for mark in piece.landmarks:
                at = self.place(name, mark.name)
                if at is not None:
                    yield name, mark, at


def edge_of_set(pattern: PatternSet, key: str, size: str) -> EdgeOfSet:
    """Find ``PIECE.EDGE`` or ``ASSEMBLY.EDGE`` in one size.

    Raises
    ------
    UnknownName
        With the nearest names.
    EditError
        When the edge of a piece is only a part of a line that is taped together.
    """
    owner, dot, name = key.partition(".")
    assemblies = pattern.relations.assemblies
    if not dot and owner not in pattern.pieces and owner not in assemblies:
        on = [
            f"'{name}.{key}'"
            for name in pattern.pieces
            if key in pattern.sized(name, size).edge_names
        ]
        if on:
            raise EditError(
                f"set '{pattern.name}': found edge '{key}' without its piece, expected PIECE.EDGE; "
                f"name one of {', '.join(on[:_MOST_NAMED])}"
            )
    if not dot or (owner not in pattern.pieces and owner not in assemblies):
        known = [*assemblies, *pattern.pieces]
        raise UnknownName("piece", owner, known, f"set '{pattern.name}', edge '{key}'")
    where = f"set '{pattern.name}', '{owner}', size '{size}'"
    if owner in assemblies:
        taped = tape(pattern, owner, size)
        edges, piece = taped.edges, taped.base
    else:
        taped, piece = None, pattern.sized(owner, size)
        edges = piece.edges
        _refuse_led(pattern, owner, name, where)
    found = [edge for edge in edges if edge.name == name]
    if not found:
        raise UnknownName("edge", name, [edge.name for edge in edges], f"'{owner}'")
    return EdgeOfSet(owner, found[0], edges, piece, taped, where)


def refuse_opening(pattern: PatternSet, of: EdgeOfSet) -> None:
    """Refuse the line of an opening, which goes as a whole; raises EditError."""
    opening = opening_on(pattern, of.owner, of.edge.name)
    if opening is not None:
        raise EditError(
            f"{of.where}: edge '{of.edge.name}' is opening '{opening.name}', whose line is "
            "rigid; change its length or angle with 'open', or send a revised drawing"
        )


def opening_on(pattern: PatternSet, piece: str, edge: str) -> Opening | None:
    """The opening whose line an edge is; None where it is none."""
    openings = pattern.relations.openings.values()
    return next((one for one in openings if (one.piece, one.edge) == (piece, edge)), None)


def whole_edges(pattern: PatternSet) -> dict[str, str]:
    """``ASSEMBLY.EDGE`` of every edge of a piece, ``PIECE.EDGE``, that is taped into one."""
    return {
        span.key: f"{name}.{edge}"
        for name, assembly in pattern.relations.assemblies.items()
        for edge, run in assembly.edges.items()
        for span in run
    }


def _refuse_led(pattern: PatternSet, piece: str, edge: str, where: str) -> None:
    """Refuse an edge that is edited elsewhere: where its line is whole, or where it is drawn."""
    whole = whole_edges(pattern).get(f"{piece}.{edge}")
    if whole is not None:
        raise EditError(
            f"{where}: edge '{edge}' is taped into the outline of '{whole.partition('.')[0]}' when "
            f"sewn, expected the whole line there; name '{whole}'"
        )
    for derived in pattern.relations.derived.values():
        for one in derived.edges:
            if (derived.piece, one.edge) == (piece, edge):
                of = f"line '{one.line}' of '{derived.of}'"
                if one.on:
                    of = f"'{derived.of}.{one.on}'"
                raise EditError(
                    f"{where}: edge '{edge}' follows {of}, from which it is drawn anew; edit "
                    f"{of}, or what the set says of '{piece}'"
                )


def edge_place(of: EdgeOfSet, place: str, *, beyond: float | None = None) -> float:
    """Distance of a place from the start of an edge, mm.

    A place within the precision of a drawing of an end is that end: a hem lies on its level to
    the last decimal only.

    Parameters
    ----------
    of : EdgeOfSet
    place : str
        ``start``, ``end``, a landmark on the edge, a level, or a length.
    beyond : float or None
        From where a length is measured along the edge, towards its far end; None: a length
        is measured from the edge's start.

    Raises
    ------
    UnknownName, EditError
    """
    at, length = _edge_place(of, place, beyond), of.edge.length
    if abs(at) <= DRAWN_MM:
        return 0.0
    return length if abs(at - length) <= DRAWN_MM else at


def has_place(of: EdgeOfSet, place: str) -> bool:
    """Whether the piece of an edge has a level, or the edge a mark, that is called so."""
    return place in of.piece.levels or _landmark_at(of, place) is not None


def _edge_place(of: EdgeOfSet, place: str, beyond: float | None) -> float:
    edge = of.edge
    if place in ("start", "end"):
        return 0.0 if place == "start" else edge.length
    if place in of.piece.levels:
        return _at_level(of, place)
    mark = _landmark_at(of, place)
    if mark is not None:
        return mark
    mm = parse_length(place)
    if mm is None:
        marks = [m.name if of.taped is None else f"{name}.{m.name}" for name, m, _ in of.marks()]
        known = ["start", "end", *of.piece.levels, *marks]
        raise UnknownName("place", place, known, f"edge '{of.key}'")
    if beyond is not None:
        return beyond + mm if edge.length - beyond >= beyond else beyond - mm
    return mm


def _at_level(of: EdgeOfSet, level: str) -> float:
    hits = level_crossings(of.piece, level, of.edge.points)
    if len(hits) == 1:
        at, length = float(hits[0]), of.edge.length
        near = min(_CROSSES_NEAR_MM, length / 4)
        return 0.0 if at <= near else length if at >= length - near else at
    grain = of.piece.grain.direction
    heights = (of.edge.points[[0, -1]] - np.asarray(of.piece.levels[level])) @ grain
    end = int(np.abs(heights).argmin())
    if not len(hits) and abs(float(heights[end])) <= _LEVEL_NEAR_MM:
        return 0.0 if end == 0 else of.edge.length
    edge = f"edge '{of.edge.name}'"
    found = f"meets {edge} {len(hits)} times" if len(hits) else f"does not meet {edge}"
    raise EditError(
        f"{of.where}: level '{level}' {found}, expected that it does once, or that the edge ends "
        "near it; name a landmark or 'start' or 'end'"
    )


def ends_on_fold(pattern: PatternSet, of: EdgeOfSet) -> tuple[bool, bool]:
    """Whether an edge starts, and ends, on an edge that is the fold of its piece."""
    names = [edge.name for edge in of.edges]
    i = names.index(of.edge.name)
    before, after = names[i - 1], names[(i + 1) % len(names)]
    if of.taped is None:
        fold = pattern.info[of.owner].fold if of.owner in pattern.info else None
        return before == fold, after == fold
    runs = pattern.relations.assemblies[of.owner].edges
    on_fold = {
        name: all(span.edge == pattern.info[span.piece].fold for span in run)
        for name, run in runs.items()
    }
    return on_fold[before], on_fold[after]


def _landmark_at(of: EdgeOfSet, name: str) -> float | None:
    """Distance of a landmark, said with its piece or without, along the edge, mm."""
    found = (at for piece, mark, at in of.marks() if name in (mark.name, f"{piece}.{mark.name}"))
    return next(found, None)


def drawn_edges(
    job: Job,
    moved: Sequence[tuple[EdgeOfSet, Moved]],
    said: str,
    words: dict[str, object],
    text: Callable[[str], str],
) -> Drawn:
    """What an edit of edges drew: assemblies as outlines under edit, pieces whole.

    Parameters
    ----------
    job : Job
    moved : sequence of (EdgeOfSet, Moved)
    said : str
    words : dict
        For the record.
    text : callable
        What happened to an edge, by its name.
    """
    edited: dict[str, Edited] = {}
    given: dict[str, SizedPiece] = {}
    changes: list[Change] = []
    notices: list[Notice] = []
    for of, new in moved:
        if of.taped is not None:
            edges = share_corners([new.edges.get(edge.name, edge) for edge in of.edges], of.edges)
            edited[of.owner] = start_edit(of.taped, job.size).with_edges(
                [edge for edge in edges if edge.name in new.edges],
                new.stretches,
                {"lower": Source(of.taped, job.size)},
                None,
            )
            nodes = [silhouette_node(of.owner, name) for name in new.edges]
        else:
            given[of.owner] = _piece_with(given.get(of.owner, of.piece), of, new, notices)
            nodes = [
                f"{of.owner}.{edge.name}"
                for was, edge in zip(of.edges, given[of.owner].edges, strict=True)
                if was != edge
            ]
        for node in nodes:
            name = node.replace("/", ".").rpartition(".")[2]
            changes.append(Change(node, ChangeKind.DRAWN, text(name), EDIT))
    return Drawn(
        said=said,
        words={**words, "pieces": sorted({of.owner for of, _ in moved}), "follow": job.follow},
        edited=edited,
        changes=tuple(changes),
        given=Given(given, loose=frozenset(given)),
        notices=tuple(notices),
        matched=False,
    )


def _piece_with(piece: SizedPiece, of: EdgeOfSet, new: Moved, notices: list[Notice]) -> SizedPiece:
    """A piece with its new edges; what is marked on them goes along."""
    edges = share_corners([new.edges.get(edge.name, edge) for edge in piece.edges], piece.edges)
    now = {edge.name: edge for edge in edges}
    marks = []
    for mark in piece.landmarks:
        if mark.edge not in new.stretches:
            marks.append(mark)
            continue
        distance = piece.distance(mark.edge, mark.name)
        places = (stretch.carry(distance) for stretch in new.stretches[mark.edge])
        at = next((place for place in places if place is not None), None)
        if at is None and mark.kind == "dart leg":
            raise EditError(
                f"{of.where}: '{mark.name}', the leg of a dart, lies on the stretch of edge "
                f"'{mark.edge}' that would be cut off, expected no dart there; ask for less, or "
                "move the dart first"
            )
        if at is None:
            at = 0.0 if distance < piece.edge(mark.edge).length / 2 else now[mark.edge].length
            notices.append(
                Notice(
                    of.owner,
                    f"'{mark.name}' lay on the stretch of edge '{mark.edge}' that is cut off; it "
                    "is put at the new corner",
                    "move it if it belongs elsewhere",
                )
            )
        marks.append(put_mark(mark, now[mark.edge], at))
    return replace(piece, edges=edges, landmarks=tuple(marks))
