"""True an edge: it runs on smoothly across the seams that it crosses.

By hand the pieces are taped together along the seam, and a smooth line is drawn over the
corner, from where both edges stay as they are.  The corner itself stays, so the seam keeps
its length; what the crossing edges gain or lose is told, and what is sewn to them follows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import ClassVar, Literal

import numpy as np

from propagate.engine.edits.bending import Bend, End, angle_at, bend_edge, bend_to_angle
from propagate.engine.edits.edge_of_set import (
    EdgeOfSet,
    drawn_edges,
    edge_of_set,
    edge_place,
    whole_edges,
)
from propagate.engine.edits.moving import Moved
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Job
from propagate.errors import EditError
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import span_points
from propagate.pattern.told import told
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = ["TrueEdge"]

_RUNS_ON_DEG = 0.1
"""A line that bends by less at a seam runs on smoothly already."""
_MOST_DEG = 30.0
"""Corners that miss a straight line by more are no line that was meant to run on."""
_LEAST_MM = 20.0
"""Over less a bend is a corner of its own."""


@dataclass(frozen=True)
class _Joint:
    """A corner at which a seam says that an edge runs on.

    Attributes
    ----------
    seam : Seam
    end : str
        Of the seam.
    sides : tuple of (EdgeOfSet, End)
        The edge and the one that it runs on to, each with its end there; the edge alone where
        the seam is a mirror.
    """

    seam: Seam
    end: str
    sides: tuple[tuple[EdgeOfSet, End], ...]


@dataclass(frozen=True, kw_only=True)
class TrueEdge(SizedEdit):
    """The edit: an edge runs on smoothly across its seams.

    Attributes
    ----------
    edge : str
        ``PIECE.EDGE``, or ``ASSEMBLY.EDGE`` for a line that is taped together.
    at : "both", "start" or "end"
        Which of its corners.
    to : str
        Place at which the bend has faded out; empty: the next dart or corner inside the edge,
        at most half of it.
    alone : bool
        Only this edge is bent, not the one that it runs on to; else each by half.
    """

    word: ClassVar[str] = "true"

    edge: str = field(metadata=told("edge", "the edge that is to run on across its seams"))
    at: Literal["both", "start", "end"] = field(
        default="both",
        metadata=told("choice", "which of its corners", choices=("both", "start", "end")),
    )
    to: str = field(
        default="",
        metadata=told(
            "place", "where the bend has faded out; the next dart, at most half of the edge"
        ),
    )
    alone: bool = field(
        default=False,
        metadata=told("flag", "only this edge is bent; else the one that it runs on to as well"),
    )

    def draw(self, job: Job) -> Drawn:
        """Draw the edge, and those that it runs on to; raises UnknownName, EditError."""
        of = edge_of_set(job.pattern, self.edge, job.size)
        bends: dict[str, tuple[EdgeOfSet, dict[End, Bend]]] = {}
        rows: list[dict[str, object]] = []
        across: list[str] = []
        for joint in self._joints(job, of):
            angles = [angle_at(at.edges, at.edge, end) for at, end in joint.sides]
            total = sum(angles) * (2.0 / len(angles))
            row = {"seam": joint.seam.name, "end": joint.end, "before_deg": total, "turned_deg": {}}
            rows.append(row)
            if abs(180.0 - total) <= _RUNS_ON_DEG:
                continue
            _refuse_peaked(of, joint, total)
            across.append(f"{joint.seam.name} ({total:.1f}° became 180°)")
            given = joint.sides[:1] if self.alone else joint.sides
            share = (180.0 - total) / (2.0 if joint.seam.mirror else len(given))
            for (at, end), angle in zip(given, angles, strict=False):
                over = self._over(at, end, self.to if at.key == of.key else "")
                _, ends = bends.setdefault(at.key, (at, {}))
                ends[end] = bend_to_angle(at.edges, at.edge, end, over, angle + share)
            row["turned_deg"] = {at.key: share for at, _ in given}
        done = f"trued across {' and '.join(across)}" if across else "runs on smoothly already"
        return drawn_edges(
            job,
            _moved(list(bends.values())),
            f"{' and '.join(bends) or of.key} {done}, size {job.size}",
            {"kind": self.word, **self.said(), "corners": rows},
            lambda _: "trued across its seams",
        )

    def _joints(self, job: Job, of: EdgeOfSet) -> list[_Joint]:
        """The corners that are asked for and that are meant to run on."""
        every = _joints_of(job, of)
        asked = [
            joint
            for joint in every
            if self.at == "both" or (of.key, self.at) in [(at.key, end) for at, end in joint.sides]
        ]
        found = [joint for joint in asked if joint.end not in joint.seam.peak]
        if found:
            return found
        where = "" if self.at == "both" else f" at its {self.at}"
        if asked:
            raise EditError(
                f"{of.where}: found a peak meant where edge '{of.edge.name}' crosses seam "
                f"'{asked[0].seam.name}'{where}, expected a line that runs on; take the end out of "
                "the seam's 'peak', or leave the corner as it is"
            )
        raise EditError(
            f"{of.where}: found no seam across which edge '{of.edge.name}' runs on{where}, "
            "expected one that names it in its 'crossing'; add it to the seam in set.toml"
        )

    def _over(self, of: EdgeOfSet, end: End, to: str) -> float:
        """Distance from a corner over which the bend fades, mm."""
        length = of.edge.length
        at = edge_place(of, to) if to else _next_fixed(of, end)
        over = at if end == "start" else length - at
        if not _LEAST_MM <= over <= length:
            raise EditError(
                f"{of.where}: found {over:.1f} mm of edge '{of.edge.name}' from its {end} to "
                f"{to or 'the next dart or corner'}, expected {_LEAST_MM:g} mm at least and no "
                f"more than the edge has ({length:.1f} mm); name another place with 'to', or "
                "'alone' where the mate has no room"
            )
        return over


def _refuse_peaked(of: EdgeOfSet, joint: _Joint, total: float) -> None:
    if abs(180.0 - total) > _MOST_DEG:
        raise EditError(
            f"{of.where}: found corners that add up to {total:.1f}° across seam "
            f"'{joint.seam.name}', expected 180° within {_MOST_DEG:g}°; a line that is meant to "
            "turn there is a 'peak' of the seam"
        )


def _next_fixed(of: EdgeOfSet, end: End) -> float:
    """Distance along an edge of the dart leg or corner next to an end, at most the middle."""
    length = of.edge.length
    places = [length / 2, *of.edge.arc[list(of.edge.turns)].tolist()]
    pieces = {of.owner: of.piece} if of.taped is None else of.taped.sized
    for name, piece in pieces.items():
        for mark in piece.landmarks:
            if mark.kind != "dart leg":
                continue
            if of.taped is not None:
                found = of.taped.place(name, mark.name)
                places += [found[1]] if found is not None and found[0] == of.edge.name else []
            elif mark.edge == of.edge.name:
                places.append(piece.distance(mark.edge, mark.name))
    return float(min(places) if end == "start" else max(places))


# ---------------------------------------------------------------------- where it runs on


def _joints_of(job: Job, of: EdgeOfSet) -> list[_Joint]:
    """The corners of an edge at which a seam says that it runs on, in the order of the seams."""
    whole = whole_edges(job.pattern)
    found = []
    for seam in job.pattern.relations.seams.values():
        runs = seam.lead, seam.lead if seam.mirror else seam.follow
        for end, keys in seam.crossing.items():
            if of.key not in {whole.get(key, key) for key in keys}:
                continue
            places = [_place_of(job, run, end, key) for run, key in zip(runs, keys, strict=True)]
            sides = [place for place in places if place is not None]
            if len(sides) < 2 or of.key not in [at.key for at, _ in sides]:
                continue
            sides.sort(key=lambda side: side[0].key != of.key)
            found.append(_Joint(seam, end, tuple(sides[:1] if seam.mirror else sides)))
    return found


def _place_of(job: Job, run: Run, end: str, key: str) -> tuple[EdgeOfSet, End] | None:
    """The line of an edge that crosses a seam, and its end there; None: it goes on beyond."""
    name = key.partition(".")[0]
    span = run[0] if end == "start" else run[-1]
    corner = span_points(job.pattern.sized(name, job.size), span)[0 if end == "start" else -1]
    at = edge_of_set(job.pattern, whole_edges(job.pattern).get(key, key), job.size)
    if at.taped is not None:
        corner = at.taped.motions[name].apply(corner)
    gaps = np.hypot(*(at.edge.points[[0, -1]] - corner).T)
    if gaps.min() > WALK_MM:
        return None
    return at, "start" if gaps[0] <= gaps[1] else "end"


def _moved(bent: Sequence[tuple[EdgeOfSet, Mapping[End, Bend]]]) -> list[tuple[EdgeOfSet, Moved]]:
    """The bent edges of every outline."""
    found: dict[str, tuple[EdgeOfSet, Moved]] = {}
    for of, ends in bent:
        edge, stretches = bend_edge(of.edge, ends)
        known = found[of.owner][1] if of.owner in found else Moved({}, {})
        new = Moved({**known.edges, edge.name: edge}, {**known.stretches, edge.name: stretches})
        found[of.owner] = (of, new)
    return list(found.values())
