"""The drawing that pieces were read from: what no edit touched keeps the entities it had."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property

import numpy as np

from propagate.geometry.affine import Affine
from propagate.io.dxf.entities import parse_number
from propagate.io.dxf.frame import RawFile
from propagate.io.dxf.texts import split_keyword
from propagate.io.options import Deltas
from propagate.pattern.model import SizedPiece
from propagate.values import dataclass

__all__ = ["BlockOf", "DxfSource", "is_drawn_alike"]


@dataclass(frozen=True)
class BlockOf:
    """The block that a piece was read from: its place in the file's list of blocks.

    `size` is None when the block gives all sizes by grade rules.
    """

    index: int
    piece: str
    size: str | None
    place: Affine


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

    @property
    def curve_tolerance_mm(self) -> float:
        """How far lines may lie from the curves that they stand for, as stated; else 0, mm."""
        for line in self.data.decode("latin-1").splitlines():
            pair = split_keyword(line.strip()) if "olerance" in line or "OLERANCE" in line else None
            if pair is not None and pair[0] == "curve tolerance":
                try:
                    return parse_number(pair[1].split()[0]) * self.unit_mm
                except (ValueError, IndexError):
                    return 0.0  # the reader warns of it
        return 0.0

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
        return own is not None and is_drawn_alike(own, sized)


def is_drawn_alike(a: SizedPiece, b: SizedPiece) -> bool:
    """Tell whether two drawings have the same points; names may differ."""
    return a is b or (
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
