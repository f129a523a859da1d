"""Change what the cut line adds to an edge, or how its corner is finished."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from typing import ClassVar, Literal

from propagate.engine.edits.edge_of_set import edge_of_set
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Job
from propagate.errors import EditError, UnknownName
from propagate.pattern.amount import Amount
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import edges_counted_from_cut
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["Allow", "FinishCorner"]


@dataclass(frozen=True, kw_only=True)
class Allow(SizedEdit):
    """The edit: an edge gets another allowance, in every size.

    Attributes
    ----------
    edge : str
        ``PIECE.EDGE``; of ``ASSEMBLY.EDGE`` every edge that it is taped together of.
    to : Amount
        mm from the seam line to the cut line.
    """

    word: ClassVar[str] = "allow"
    every_size: ClassVar[bool] = True

    edge: str = field(metadata=told("edge", "the edge whose allowance is changed"))
    to: Amount = field(metadata=told("amount", "the allowance, mm; the same in every size"))

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """The set with the allowance; raises UnknownName, EditError."""
        del sizes
        mm = self._read_mm(pattern)
        info = dict(pattern.info)
        for piece, edge in self._list_edges(pattern):
            was = info[piece].allowance
            if was.of(edge) != mm:
                allowance = replace(was, edges={**was.edges, edge: mm})
                info[piece] = replace(info[piece], allowance=allowance)
        if all(info[name] is pattern.info[name] for name in info):
            return pattern
        return self.checked(pattern, replace(pattern, info=info))

    def draw(self, job: Job) -> Drawn:
        """No line moves but the cut line, and what a set derives from it."""
        mm = self._read_mm(job.pattern)
        keys = {f"{piece}.{edge}" for piece, edge in self._list_edges(job.pattern)}
        return Drawn(
            visit=tuple(sorted(keys & edges_counted_from_cut(job.pattern))),
            said=f"allowance of {self.edge} {mm:g} mm",
            words={
                "kind": self.word,
                **self.said(),
                "pieces": sorted({piece for piece, _ in self._list_edges(job.pattern)}),
            },
        )

    def _read_mm(self, pattern: PatternSet) -> float:
        if self.to.mm is None or self.to.mm < 0.0:
            raise EditError(
                f"{self.where(pattern)}: expected 'to' as one length of 0 mm or "
                'more, such as to = "15mm"; an allowance is the same in every size'
            )
        return self.to.mm

    def _list_edges(self, pattern: PatternSet) -> list[tuple[str, str]]:
        """Piece and edge of everything that the edge is made of."""
        owner, _, name = self.edge.partition(".")
        assembly = pattern.relations.assemblies.get(owner)
        if assembly is not None:
            edge_of_set(pattern, self.edge, pattern.base)
            return [(span.piece, span.edge) for span in assembly.edges[name]]
        known = pattern.piece(owner).at(pattern.base).edge_names
        if name not in known:
            raise UnknownName("edge", name, known, f"'{owner}'")
        return [(owner, name)]


@dataclass(frozen=True, kw_only=True)
class FinishCorner(SizedEdit):
    """The edit: the cut line of a corner is finished in another way, in every size.

    Attributes
    ----------
    corner : str
        ``PIECE.EDGE/EDGE``: where the first edge ends and the second begins.
    finish : str
        As in `propagate.pattern.info.Allowance`.
    """

    word: ClassVar[str] = "finish-corner"
    every_size: ClassVar[bool] = True

    corner: str = field(
        metadata=told(
            "text", "`PIECE.EDGE/EDGE`, the corner where the first edge ends and the second begins"
        )
    )
    finish: Literal["mitre", "square", "square second"] = field(
        metadata=told(
            "choice",
            "how its allowances meet; `square`: the first edge's ends square to its seam line, "
            "`square second`: the second edge's",
            choices=("mitre", "square", "square second"),
        )
    )

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """The set with the corner's finish; raises UnknownName, EditError."""
        del sizes
        piece, corner = self._find_corner(pattern)
        was = pattern.info[piece].allowance
        if was.corners.get(corner, "mitre") == self.finish:
            return pattern
        allowance = replace(was, corners={**was.corners, corner: self.finish})
        info = {**pattern.info, piece: replace(pattern.info[piece], allowance=allowance)}
        return self.checked(pattern, replace(pattern, info=info))

    def draw(self, job: Job) -> Drawn:
        """No line moves but the cut line."""
        piece, _ = self._find_corner(job.pattern)
        return Drawn(
            said=f"corner of {self.corner} finished '{self.finish}'",
            words={"kind": self.word, **self.said(), "pieces": [piece]},
        )

    def _find_corner(self, pattern: PatternSet) -> tuple[str, str]:
        piece, _, corner = self.corner.partition(".")
        names = pattern.piece(piece).at(pattern.base).edge_names
        known = [f"{a}/{b}" for a, b in zip(names, (*names[1:], names[0]), strict=True)]
        if corner not in known:
            raise UnknownName("corner", corner, known, f"'{piece}'")
        return piece, corner
