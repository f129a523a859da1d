"""Entities as DXF text, in the old forms that every release reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from propagate.io.dxf.placing import IDENTITY, Placement
from propagate.pattern.model import Array

__all__ = ["Pen"]


@dataclass
class Pen:
    """Writes entities.

    Attributes
    ----------
    unit_mm : float
        Millimetres in one unit of the file.
    precision : float
        mm to which coordinates are rounded.
    place : Placement
        Coordinates are written before this map (a block that is inserted moved).
    handle : int
        The next handle; 0 writes entities of release 12, without handles.
    """

    unit_mm: float = 1.0
    precision: float = 0.001
    place: Placement = IDENTITY
    handle: int = 0
    parts: list[str] = field(default_factory=list)

    @cached_property
    def decimals(self) -> int:
        """Decimals of a coordinate in the file's unit."""
        step = self.precision / self.unit_mm
        return int(max(0, min(12, np.ceil(-np.log10(step) - 1e-9))))

    @cached_property
    def _at(self) -> str:
        """The groups of a place, to be filled with x and y."""
        return f" 10\n%.{self.decimals}f\n 20\n%.{self.decimals}f\n 30\n0.0\n"

    def rounded(self, points: Array) -> Array:
        """Return points in units of the file, as they are written."""
        units = self.place.back(np.asarray(points, dtype=np.float64)) / self.unit_mm
        if self.unit_mm == 1.0:
            step = self.precision
            units = np.round(units / step) * step if step not in (0.1, 0.01, 0.001) else units
        return np.asarray(np.round(units, self.decimals) + 0.0)

    def _open(self, kind: str, layer: str, *marks: str) -> str:
        if not self.handle:
            return f"  0\n{kind}\n  8\n{layer}\n"
        self.handle += 1
        subclass = "".join(f"100\n{mark}\n" for mark in marks)
        return f"  0\n{kind}\n  5\n{self.handle - 1:X}\n100\nAcDbEntity\n  8\n{layer}\n{subclass}"

    def line(self, layer: str, points: Array, *, closed: bool) -> None:
        """Write a polyline, or a LINE for two points; points that fall together are one."""
        at = self.rounded(points)
        keep = np.ones(len(at), dtype=bool)
        keep[1:] = (np.diff(at, axis=0) != 0.0).any(axis=1)
        at = at[keep]
        if closed and len(at) > 1 and (at[0] == at[-1]).all():
            at = at[:-1]
        if len(at) == 2 and not closed:
            self._segment(layer, at)
            return
        self.parts.append(
            self._open("POLYLINE", layer, "AcDb2dPolyline")
            + f" 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{int(closed)}\n"
        )
        self._placed("VERTEX", [layer] * len(at), at, "AcDbVertex", "AcDb2dVertex")
        self.parts.append(self._open("SEQEND", layer))

    def _placed(self, kind: str, layers: Sequence[str], at: Array, *marks: str) -> None:
        """Write entities that are no more than a place, which is rounded already."""
        heads = {} if self.handle else {name: self._open(kind, name) for name in set(layers)}
        for layer, (x, y) in zip(layers, at.tolist(), strict=True):
            head = heads.get(layer) or self._open(kind, layer, *marks)
            self.parts.append(head + self._at % (x, y))

    def _segment(self, layer: str, at: Array) -> None:
        digits = self.decimals
        (x0, y0), (x1, y1) = at.tolist()
        self.parts.append(
            self._open("LINE", layer, "AcDbLine")
            + f" 10\n{x0:.{digits}f}\n 20\n{y0:.{digits}f}\n 30\n0.0\n"
            + f" 11\n{x1:.{digits}f}\n 21\n{y1:.{digits}f}\n 31\n0.0\n"
        )

    def points(self, marked: Sequence[tuple[str, Array | tuple[float, float]]]) -> None:
        """Write POINTs, each on its layer; their places are moved and rounded as one array."""
        if marked:
            at = self.rounded(np.array([place for _, place in marked]))
            self._placed("POINT", [layer for layer, _ in marked], at, "AcDbPoint")

    def text(
        self,
        layer: str,
        point: Array | tuple[float, float],
        text: str,
        *,
        height: float,
        angle: float = 0.0,
    ) -> None:
        """Write a TEXT of ASCII letters; `height` in mm, `angle` in degrees."""
        x, y = self.rounded(np.asarray(point)).tolist()
        tail = "100\nAcDbText\n" if self.handle else ""
        turn = angle - self.place.angle
        rotation = f" 50\n{turn:.10g}\n" if turn else ""
        self.parts.append(
            self._open("TEXT", layer, "AcDbText")
            + self._at % (x, y)
            + f" 40\n{height / self.unit_mm:.6g}\n  1\n{text}\n{rotation}{tail}"
        )

    def take(self) -> str:
        """Return what was written and begin anew."""
        text = "".join(self.parts)
        self.parts.clear()
        return text
