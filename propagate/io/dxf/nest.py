"""Mappings that remember the drawing they were read from.

A piece that no edit touched is written back with the entities it had.  The drawing
travels with the mapping: an edit makes a new mapping and so leaves it behind by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cached_property

import numpy as np

from propagate.io.dxf.placing import Placement
from propagate.io.dxf.rules import Deltas
from propagate.io.dxf.tags import RawFile
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["BlockOf", "DxfNest", "DxfSource", "alike", "reattach", "source_of"]


@dataclass(frozen=True)
class BlockOf:
    """The block that a piece was read from: its place in the file's list of blocks.

    `size` is None when the block gives all sizes by grade rules.
    """

    index: int
    piece: str
    size: str | None
    place: Placement


@dataclass(frozen=True, eq=False)
class DxfSource:
    """A style as it was read.

    Attributes
    ----------
    name : str
    data : bytes
        The DXF file; of a damaged one, what could be read of it, made sound.
    rules : bytes or None
        The rule file.
    blocks : tuple of BlockOf
    unit_mm : float
    raw : RawFile
        The file as line pairs.
    """

    name: str
    data: bytes
    rules: bytes | None
    blocks: tuple[BlockOf, ...]
    unit_mm: float
    raw: RawFile = field(repr=False)
    deltas: Deltas = "from sample"
    pieces: dict[str, Mapping[str, SizedPiece]] = field(default_factory=dict)

    @property
    def recovered(self) -> bool:
        """Whether the file was damaged."""
        return self.raw.recovered

    @cached_property
    def blocks_of(self) -> Mapping[str, list[BlockOf]]:
        """The blocks of each piece."""
        found: dict[str, list[BlockOf]] = {}
        for block in self.blocks:
            found.setdefault(block.piece, []).append(block)
        return found

    def draws(self, piece: str, size: str, sized: SizedPiece) -> bool:
        """Tell whether the file draws a piece just so; names may differ."""
        own = self.pieces.get(piece, {}).get(size)
        return own is not None and (own is sized or alike(own, sized))


class DxfNest(Mapping[str, SizedPiece]):
    """A read-only mapping of sizes with the drawing it was read from.

    Attributes
    ----------
    name : str
        Of the piece.
    source : DxfSource
    """

    def __init__(self, name: str, sizes: Mapping[str, SizedPiece], source: DxfSource) -> None:
        self._sizes = dict(sizes)
        self.name = name
        self.source = source

    def __getitem__(self, size: str) -> SizedPiece:
        return self._sizes[size]

    def __iter__(self) -> Iterator[str]:
        return iter(self._sizes)

    def __len__(self) -> int:
        return len(self._sizes)

    def __repr__(self) -> str:
        return f"DxfNest({self._sizes!r})"


def source_of(pattern: PatternSet) -> DxfSource | None:
    """Return the one drawing that the untouched pieces of a set were read from.

    None when there is none, or more than one.
    """
    found = {
        id(piece.nest.source): piece.nest.source
        for piece in pattern.pieces.values()
        if isinstance(piece.nest, DxfNest)
    }
    return next(iter(found.values())) if len(found) == 1 else None


def reattach(pattern: PatternSet, original: PatternSet) -> PatternSet:
    """Give pieces the drawing of `original` wherever not a point of theirs differs.

    For a set that went through files of its own: what no edit touched can then be written
    as it was read.  Names of edges and landmarks may differ.
    """
    pieces = {}
    for name, piece in pattern.pieces.items():
        twin = original.pieces.get(name)
        pieces[name] = piece
        if twin is not None and isinstance(twin.nest, DxfNest) and _same(piece, twin):
            pieces[name] = Piece(name, DxfNest(name, piece.nest, twin.nest.source))
    return PatternSet(
        pattern.name,
        pattern.sizes,
        pattern.base,
        pattern.lay_on,
        pieces,
        pattern.info,
        pattern.relations,
        pattern.chart,
    )


def _same(piece: Piece, twin: Piece) -> bool:
    return set(piece.nest) == set(twin.nest) and all(
        alike(piece.nest[size], twin.nest[size]) for size in piece.nest
    )


def alike(a: SizedPiece, b: SizedPiece) -> bool:
    """Tell whether two drawings have the same points; names may differ."""
    return (
        _same_outline(a.outline, b.outline)
        and {(m.point, m.kind) for m in a.landmarks} == {(m.point, m.kind) for m in b.landmarks}
        and {mark.point for mark in a.drills} == {mark.point for mark in b.drills}
        and {dart.tip for dart in a.darts} == {dart.tip for dart in b.darts}
        and sorted(line.points.tobytes() for line in a.lines)
        == sorted(line.points.tobytes() for line in b.lines)
        and a.grain == b.grain
    )


def _same_outline(a: np.ndarray, b: np.ndarray) -> bool:
    """Tell whether two outlines have the same points; they may start elsewhere."""
    if a.shape != b.shape:
        return False
    starts = np.flatnonzero((b == a[0]).all(axis=1))
    return any(bool((np.roll(b, -start, axis=0) == a).all()) for start in starts[:4].tolist())
