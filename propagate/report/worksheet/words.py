"""How pieces, corners, landmarks and places are called on a work sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import cached_property

import numpy as np

from propagate.engine.record import PieceChange, Record
from propagate.engine.run import Result
from propagate.geometry.motion import fit
from propagate.geometry.polyline import sample_line
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Opening, parse_span
from propagate.pattern.titles import in_sentence, in_words, list_words, name_title, piece_title
from propagate.report.blend_text import size_taken
from propagate.report.lettering import letters_of
from propagate.report.units import PENCIL_MM, Unit, say_length
from propagate.report.worksheet.outlines import OldAndNew
from propagate.values import dataclass

__all__ = ["Source"]

_SAMPLES = 24
_ALIKE_MM = 0.25
"""Outlines that lie on each other within a pencil line are one."""


@dataclass(frozen=True, eq=False)
class Source:
    """A result and the unit it is told in; every module of the sheet asks this one."""

    result: Result
    unit: Unit

    @property
    def pattern(self) -> PatternSet:
        """The set that came of the edit."""
        return self.result.pattern

    @property
    def relations(self) -> Relations:
        """What joins its pieces."""
        return self.result.pattern.relations

    @property
    def record(self) -> Record:
        """What the edit did."""
        return self.result.record

    @cached_property
    def changed(self) -> Mapping[str, PieceChange]:
        """Pieces of which at least one edge is not the same, in the order of work."""
        return {
            change.piece: change
            for change in self.record.pieces
            if any(edge.status != "same" for edge in change.edges)
        }

    @cached_property
    def _compared(self) -> dict[str, OldAndNew]:
        return {name: OldAndNew(self.sized(name), c) for name, c in self.changed.items()}

    def compared(self, piece: str) -> OldAndNew:
        """A changed piece with its old outline."""
        return self._compared[piece]

    def sized(self, piece: str) -> SizedPiece:
        """A piece as it is in the result."""
        return self.pattern.sized(piece, self.record.size)

    def changed_edges(self, piece: str) -> list[str]:
        """Edges of a piece that are not the same, in outline order."""
        return [e.edge for e in self.changed[piece].edges if e.status != "same"]

    def turned_deg(self, piece: str) -> float | None:
        """By how much the outline of a piece lies turned, when that is all that became of it.

        Degrees anticlockwise; None when the outline changed by more than a pencil line.
        """
        pair = self.compared(piece)
        old, new = (
            np.concatenate([sample_line(points, _SAMPLES)[:-1] for points in lines])
            for lines in (
                [pair.old(name) for name in pair.now.edge_names],
                [edge.points for edge in pair.now.edges],
            )
        )
        motion, off = fit(old, new)
        moved = float(np.hypot(*(new - old).T).max())
        turned = math.degrees(motion.angle)
        return turned if off <= _ALIKE_MM and moved > PENCIL_MM else None

    @cached_property
    def given(self) -> frozenset[str]:
        """Pieces that were revised by a drawing, or edited."""
        options = self.record.options
        return frozenset(options.pieces if options.kind != "blend" else ())

    @cached_property
    def openings(self) -> dict[tuple[str, str], Opening]:
        """Changed edges that are openings, each with its relation."""
        return {
            (opening.piece, opening.edge): opening
            for opening in self.relations.openings.values()
            if opening.piece in self.changed and opening.edge in self.changed_edges(opening.piece)
        }

    @cached_property
    def lower(self) -> str:
        """The size that the main pieces are drawn in before the edit."""
        plan, record = self.relations.blend, self.record
        return record.options.sizes.get(plan.lower, record.size) if plan else record.size

    @cached_property
    def upper(self) -> str:
        """The size that gives the top."""
        plan, record = self.relations.blend, self.record
        return record.options.sizes.get(plan.upper, self.lower) if plan else record.size

    def taken(self, piece: str) -> str:
        """The size that a piece is taken from."""
        return size_taken(self.result, piece)

    # ---------------------------------------------------------------------- words

    def title(self, piece: str) -> str:
        """What is printed on a piece; with its name where two have the same title."""
        return piece_title(self.pattern, piece)

    def titles(self, pieces: Iterable[str]) -> str:
        """The titles of some pieces in a list."""
        return list_words([self.title(piece) for piece in pieces])

    def called(self, name: str, of: str = "") -> str:
        """A relation or a level, or with `of` what is on a piece, within a sentence."""
        return in_sentence(name_title(self.pattern, name, of))

    def check_name(self, name: str) -> str:
        """What a check is called: its relation, and which part of that."""
        of, _, part = name.partition(" ")
        return f"{self.called(of)} {self.called(part, of) if part else ''}".rstrip()

    def in_words(self, text: str, *, start: bool = True) -> str:
        """A text in which names are said by their titles; `start` begins a sentence with it."""
        said = in_words(self.pattern, text)
        return f"{said[:1].upper()}{said[1:]}" if start else said

    def said(self, mm: float) -> str:
        """A length in the unit of the sheet."""
        return say_length(mm, self.unit)

    @cached_property
    def _letters(self) -> dict[str, dict[str, str]]:
        return {}

    def letter(self, piece: str, key: str) -> str:
        """The letter of a corner or mark of a piece; "" where it has none."""
        if piece not in self._letters:
            self._letters[piece] = {o.key: o.letter for o in letters_of(self.sized(piece))}
        return self._letters[piece].get(key, "")

    def corner(self, piece: str, edge: str, end: str) -> str:
        """The letter of the corner at an end of an edge."""
        names = self.sized(piece).edge_names
        at = names.index(edge)
        return self.letter(piece, f"{names[at if end == 'end' else at - 1]}.end")

    def landmark(self, piece: str, name: str) -> str:
        """A landmark with its letter, or the letter of the corner that an edge's end is."""
        edge, _, end = name.rpartition(".")
        if end in ("start", "end") and edge in self.sized(piece).edge_names:
            return self.corner(piece, edge, end)
        return f"{self.letter(piece, name)} ‘{self.called(name, piece)}’".strip()

    def run(self, written: str) -> str:
        """A run or a mark as checks write it, in words: piece and edge, from where to where."""
        return " + ".join(self._place(place) for place in written.split(" + "))

    def _place(self, place: str) -> str:
        key = place.partition(" ")[0]
        piece, _, name = key.partition(".")
        if piece not in self.pattern.pieces:
            return self.in_words(place, start=False)
        text = self.title(piece)
        if name:
            mark = name.endswith((".start", ".end"))  # a corner, which has a letter
            mark |= any(one.name == name for one in self.sized(piece).landmarks)
            text += f", {self.landmark(piece, name) if mark else self.called(name, piece)}"
        if key == place or not name:
            return text
        span = parse_span(place)
        if {span.begin, span.end} == {"start", "end"}:
            return text
        begin, end = (
            self.landmark(piece, f"{name}.{at}" if at in ("start", "end") else at)
            for at in (span.begin, span.end)
        )
        return f"{text} from {begin} to {end}"

    def silhouette(self, name: str) -> str:
        """A silhouette: its assembly's name, or the title of a plain piece."""
        if name in self.relations.assemblies:
            return f"the taped ‘{self.called(name)}’"
        return self.title(name)

    def taped_edge(self, piece: str, edge: str) -> str:
        """An edge of a piece, or of the silhouette that a changed part is taped into."""
        for assembly in self.relations.assemblies.values():
            if assembly.lead in self.changed and piece in [p.piece for p in assembly.parts]:
                for name, run in assembly.edges.items():
                    if any((span.piece, span.edge) == (piece, edge) for span in run):
                        return (
                            f"{self.silhouette(assembly.name)} ({self.called(name, assembly.name)})"
                        )
        return f"{self.title(piece)} ({self.called(edge, piece)})"

    def chord(self, first: np.ndarray, second: np.ndarray) -> float:
        """Straight distance of two points, mm."""
        return float(np.hypot(*(np.asarray(first) - np.asarray(second))))
