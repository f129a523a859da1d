"""A set: pieces in all sizes and the relations that join them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import field
from functools import cached_property
from typing import Any

from propagate.errors import UnknownName
from propagate.pattern.alike import Alike
from propagate.pattern.buttons import Buttons
from propagate.pattern.dart_pleats import pleats_by_size
from propagate.pattern.derived import Derived
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.pleats import Pleats, with_pleats
from propagate.pattern.relations import (
    Assembly,
    Band,
    BlendPlan,
    Girth,
    Opening,
    PieceInfo,
    Place,
    Seam,
    SeamOpening,
    Stack,
)
from propagate.pattern.set_on import Patch
from propagate.pattern.tape import Tape
from propagate.pattern.welts import WeltOpening
from propagate.values import dataclass

__all__ = ["PatternSet", "Relations"]


@dataclass(frozen=True)
class Relations:
    """Every relation of a set, each kind by its name."""

    assemblies: Mapping[str, Assembly] = field(default_factory=dict)
    seams: Mapping[str, Seam] = field(default_factory=dict)
    openings: Mapping[str, Opening] = field(default_factory=dict)
    stacks: Mapping[str, Stack] = field(default_factory=dict)
    bands: Mapping[str, Band] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)
    girths: Mapping[str, Girth] = field(default_factory=dict)
    seam_openings: Mapping[str, SeamOpening] = field(default_factory=dict)
    derived: Mapping[str, Derived] = field(default_factory=dict)
    patches: Mapping[str, Patch] = field(default_factory=dict)
    alike: Mapping[str, Alike] = field(default_factory=dict)
    buttons: Mapping[str, Buttons] = field(default_factory=dict)
    pleats: Mapping[str, Pleats] = field(default_factory=dict)
    tapes: Mapping[str, Tape] = field(default_factory=dict)
    welt_openings: Mapping[str, WeltOpening] = field(default_factory=dict)
    blend: BlendPlan | None = None
    others: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    """Relations of kinds that have no field of their own, by the word of the kind."""
    titles: Mapping[str, str] = field(default_factory=dict)
    """What a person reads instead of a level's name, or of ``PIECE.NAME`` of an edge, a landmark, a
    dart, an inner line or a drill mark, or ``ASSEMBLY.EDGE``."""

    @cached_property
    def parts_of(self) -> Mapping[str, str]:
        """Piece name to the assembly it belongs to (lead or part)."""
        found: dict[str, str] = {}
        for assembly in self.assemblies.values():
            for piece in assembly.pieces:
                found[piece] = assembly.name
        return found

    @cached_property
    def partner_of(self) -> Mapping[str, str]:
        """``PIECE.LANDMARK`` of a paired notch to the notch that it meets."""
        found: dict[str, str] = {}
        for seam in self.seams.values():
            for lead, follow in seam.notches:
                found.setdefault(lead, follow)
                found.setdefault(follow, lead)
        return found

    @cached_property
    def followed_by(self) -> Mapping[str, tuple[Seam, ...]]:
        """Piece name to the seams of which it is all of the follower."""
        found: dict[str, tuple[Seam, ...]] = {}
        for seam in self.seams.values():
            pieces = {span.piece for span in seam.follow}
            if len(pieces) == 1:
                piece = pieces.pop()
                found[piece] = (*found.get(piece, ()), seam)
        return found

    @cached_property
    def crossed_on(self) -> Mapping[str, tuple[Seam, ...]]:
        """Piece name to the seams with a line of it that runs on across them."""
        found: dict[str, dict[str, Seam]] = {}
        for seam in self.seams.values():
            for keys in seam.crossing.values():
                for key in keys:
                    found.setdefault(key.partition(".")[0], {})[seam.name] = seam
        return {piece: tuple(seams.values()) for piece, seams in found.items()}

    @cached_property
    def place_of_seam(self) -> Mapping[str, int]:
        """Seam name to its place among the seams."""
        return {name: place for place, name in enumerate(self.seams)}

    @cached_property
    def seams_on(self) -> Mapping[str, tuple[Seam, ...]]:
        """Piece name to the seams that it is sewn in."""
        found: dict[str, dict[str, Seam]] = {}
        for seam in self.seams.values():
            for span in (*seam.lead, *seam.follow):
                found.setdefault(span.piece, {})[seam.name] = seam
        return {piece: tuple(seams.values()) for piece, seams in found.items()}

    @cached_property
    def layer_in(self) -> Mapping[str, Stack]:
        """Piece name to the first stack in which it is a layer."""
        found: dict[str, Stack] = {}
        for stack in self.stacks.values():
            for layer in stack.layers:
                found.setdefault(layer.piece, stack)
        return found

    def are_copies(self, pieces: Collection[str]) -> bool:
        """Whether pieces are cut alike."""
        one = set(pieces)
        return len(one) > 1 and any(one <= set(alike.pieces) for alike in self.alike.values())

    def lead_of(self, silhouette: str) -> str:
        """The piece by which a silhouette is known: the lead of an assembly, else the piece."""
        assembly = self.assemblies.get(silhouette)
        return silhouette if assembly is None else assembly.lead

    @cached_property
    def seam_opening_marks(self) -> frozenset[str]:
        """``PIECE.LANDMARK`` of the marks of openings in seams, as for a pocket."""
        return frozenset[str]().union(*(one.marks for one in self.seam_openings.values()))

    @cached_property
    def stack_of(self) -> Mapping[str, Stack]:
        """Opening name to the stack that lies behind it."""
        return {stack.opening: stack for stack in self.stacks.values()}


@dataclass(frozen=True, eq=False)
class PatternSet:
    """All the pieces of one style, in all its sizes, with how they are joined.

    Attributes
    ----------
    name : str
    sizes : tuple of str
        In order of the nest, smallest first.
    base : str
        The base (sample) size.
    lay_on : str
        Level on which sizes are laid over each other.
    pieces : mapping of name to Piece
    info : mapping of piece name to PieceInfo
    relations : Relations
    chart : mapping of measurement name to a mapping of size to mm
    origin : object
        Where it came from, for whoever writes it back; nothing here looks at it.

    Notes
    -----
    Two sets are the same when they are one object: a set can then be a key, which is
    how its relation graph is built only once.
    """

    name: str
    sizes: tuple[str, ...]
    base: str
    lay_on: str
    pieces: Mapping[str, Piece]
    info: Mapping[str, PieceInfo]
    relations: Relations = Relations()
    chart: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    origin: object = field(default=None, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Pieces know their pleats, which only relations tell."""
        told = self.relations
        by_size = pleats_by_size(self.pieces, told.derived, told.assemblies)
        pieces = with_pleats(self.pieces, told.pleats.values(), by_size)
        if pieces is not self.pieces:
            object.__setattr__(self, "pieces", pieces)

    @cached_property
    def level_of_row(self) -> Mapping[str, str]:
        """Row of the chart to the level of the blend whose size it gives."""
        plan = self.relations.blend
        if plan is None:
            return {}
        levels = [plan.upper, plan.lower, *([plan.leg.level] if plan.leg else [])]
        found = {level: level for level in levels if level in self.chart}
        for girth in self.relations.girths.values():
            row, level = girth.chart, girth.level or girth.name
            if row in self.chart and level in levels and level not in found.values():
                found[str(row)] = level
        return found

    def piece(self, name: str) -> Piece:
        """Return a piece; raises UnknownName with the nearest names."""
        try:
            return self.pieces[name]
        except KeyError:
            raise UnknownName("piece", name, list(self.pieces), f"set '{self.name}'") from None

    def sized(self, piece: str, size: str) -> SizedPiece:
        """Return a piece in one size; raises UnknownName."""
        self.check_size(size)
        return self.piece(piece).at(size)

    def check_size(self, size: str) -> None:
        """Refuse a size that the set does not have: raises UnknownName with those it has."""
        if size not in self.sizes:
            raise UnknownName("size", size, self.sizes, f"set '{self.name}'")

    def in_size(self, size: str) -> Callable[[str], SizedPiece]:
        """Return what gives a piece by its name in one size."""
        return lambda piece: self.sized(piece, size)
