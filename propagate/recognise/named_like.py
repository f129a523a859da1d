"""Give a style that is drawn like one before the names of that one, as far as it is sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from propagate.pattern.info import Allowance, PieceInfo
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.names import free_name
from propagate.pattern.patternset import PatternSet
from propagate.recognise.matched import Matched
from propagate.recognise.named_drawing import name_drawing
from propagate.recognise.pieces_matched import match_pieces
from propagate.recognise.renaming import Carried, compare_names, rename_by_place
from propagate.recognise.turned_over import turn_over_info
from propagate.values import dataclass

__all__ = ["Named", "Unsaid", "name_like"]

Unsaid = Literal["cutting", "allowances"]


@dataclass(frozen=True)
class Named:
    """A set with the names of one before.

    Attributes
    ----------
    pattern : PatternSet
    matched : Matched
        Pieces by their names before they got others.
    missing : tuple of str
        Pieces of the set before that were not found.
    others : tuple of str
        Pieces, by their names now, that are none of the set before.
    joined : mapping of piece to edges that are drawn in several, by their names before
    carried : tuple of Carried
        What came and went on pieces of the set before.
    unsaid : mapping of piece to what the file does not say of it, and the set before says
    drawn : mapping of piece to plain marks that are not shown, and where they were put, in words
    darts : mapping of piece to darts for whose legs notches were taken
    """

    pattern: PatternSet
    matched: Matched
    missing: tuple[str, ...]
    others: tuple[str, ...]
    joined: Mapping[str, tuple[tuple[str, ...], ...]]
    carried: tuple[Carried, ...]
    unsaid: Mapping[str, tuple[Unsaid, ...]]
    drawn: Mapping[str, Mapping[str, str]]
    darts: Mapping[str, tuple[str, ...]]


def name_like(pattern: PatternSet, old: PatternSet, said: Sequence[str] = ()) -> Named:
    """Name pieces, edges and what is on them as in a set before.

    Pieces are found by their shape (`match_pieces`).  One that has the name of a piece of the set
    before and is not like it keeps its name; its edges are named by their place.

    Parameters
    ----------
    pattern, old : PatternSet
    said : sequence of str
        Pieces whose names were said by hand.
    """
    matched = match_pieces(pattern, old, said)
    over = {name: turn_over_info(pattern.info[name]) for name in matched.turned}
    pattern = replace(
        pattern,
        pieces={**pattern.pieces, **matched.turned},
        info={**pattern.info, **over},
    )
    to_be = {one.new: one.old for one in matched.matches}
    taken = {*to_be.values(), *(name for name in pattern.pieces if name not in to_be)}
    for name in pattern.pieces:
        if name not in to_be and name in to_be.values():
            to_be[name] = free_name(name, taken)
            taken.add(to_be[name])
    by_new = {one.new: one for one in matched.matches}
    pieces: dict[str, Piece] = {}
    info: dict[str, PieceInfo] = {}
    joined: dict[str, tuple[tuple[str, ...], ...]] = {}
    carried: list[Carried] = []
    told: dict[str, tuple[Unsaid, ...]] = {}
    drawn: dict[str, Mapping[str, str]] = {}
    darts: dict[str, tuple[str, ...]] = {}
    for name, piece in pattern.pieces.items():
        called = to_be.get(name, name)
        about = pattern.info[name]
        if name in by_new:
            one = by_new[name]
            was = old.pieces[called]
            drawing = name_drawing(piece.nest, pattern.base, was, old.base, one.laid)
            drawn |= {called: drawing.drawn} if drawing.drawn else {}
            darts |= {called: drawing.darts} if drawing.darts else {}
            pieces[called] = Piece(called, drawing.nest)
            about = _rename_info(about, drawing.edges, drawing.marks)
            told |= {called: _list_unsaid(about)}
            if about.title == name:  # nothing but the name, which goes
                about = replace(about, title=old.info[called].title)
            about = _say_as_before(about, old.info[called], pieces[called].at(pattern.base))
            split = tuple(names for names in one.laid.new if len(names) > 1)
            joined |= {called: split} if split else {}
            changed = compare_names(old.sized(called, old.base), pieces[called], pattern.base)
        elif called in old.pieces and called == name:
            pieces[called], about, changed = rename_by_place(piece, about, old, pattern.base)
        else:
            pieces[called], changed = Piece(called, piece.nest), None
            about = replace(about, title=called) if about.title == name else about
        info[called] = about
        carried += [changed] if changed is not None else []
    found = set(by_new)
    return Named(
        replace(pattern, pieces=pieces, info=info),
        matched,
        tuple(name for name in old.pieces if name not in {one.old for one in matched.matches}),
        tuple(to_be.get(name, name) for name in pattern.pieces if name not in found),
        joined,
        tuple(carried),
        told,
        drawn,
        darts,
    )


def _rename_info(about: PieceInfo, edges: Mapping[str, str], marks: Mapping[str, str]) -> PieceInfo:
    allowance = about.allowance
    return replace(
        about,
        fold=None if about.fold is None else edges[about.fold],
        strip=None if about.strip is None else tuple(edges[edge] for edge in about.strip),
        double_notches=tuple(marks.get(mark, mark) for mark in about.double_notches),
        allowance=Allowance(
            allowance.default,
            {edges[edge]: mm for edge, mm in allowance.edges.items()},
            frozenset(edges[edge] for edge in allowance.turned),
            {
                "/".join(edges[edge] for edge in pair.split("/")): style
                for pair, style in allowance.corners.items()
                if all(edge in edges for edge in pair.split("/"))
            },
        ),
    )


def _list_unsaid(about: PieceInfo) -> tuple[Unsaid, ...]:
    """What a file does not tell of a piece."""
    cutting = (about.cut, about.pair, about.fabric) == (1, False, "")
    unsaid: list[Unsaid] = ["cutting"] if cutting else []
    return (*unsaid, "allowances") if about.allowance == Allowance() else tuple(unsaid)


def _say_as_before(about: PieceInfo, before: PieceInfo, piece: SizedPiece) -> PieceInfo:
    """What the drawing does not say of a piece, as the set before says it."""
    edges, marks = {*piece.edge_names}, {mark.name for mark in piece.landmarks}
    known = {*marks, *(f"{edge}.{end}" for edge in edges for end in ("start", "end"))}
    unsaid = _list_unsaid(about)
    if "cutting" in unsaid:
        about = replace(about, cut=before.cut, pair=before.pair, fabric=before.fabric)
    if "allowances" in unsaid:
        given = before.allowance
        allowance = Allowance(
            given.default,
            {edge: mm for edge, mm in given.edges.items() if edge in edges},
            given.turned & edges,
            {pair: one for pair, one in given.corners.items() if {*pair.split("/")} <= edges},
        )
        about = replace(about, allowance=allowance)
    ends = {mark: end for mark, end in before.anchors.items() if {mark, end} <= known}
    about = replace(about, anchors={**ends, **about.anchors})
    if about.fold is None and before.fold in edges:
        about = replace(about, fold=before.fold)
    if about.strip is None and before.strip is not None and {*before.strip} <= edges:
        about = replace(about, strip=before.strip)
    if not about.double_notches:
        double = tuple(mark for mark in before.double_notches if mark in marks)
        about = replace(about, double_notches=double)
    return about
