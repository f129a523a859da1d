"""Corners at which an edge runs on across a seam, and what makes it run on smoothly there.

By hand the pieces are taped together along the seam, and a smooth line is drawn over the
corner, from where both edges stay as they are.  The corner itself stays, so the seam keeps
its length; what the crossing edges gain or lose, what is sewn to them follows.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from propagate.engine.edits.bending import Bend, angle_at, bend_edge, bend_to_angle
from propagate.engine.edits.edge_of_set import (
    EdgeOfSet,
    drawn_edges,
    edge_of_set,
    edge_place,
    whole_edges,
)
from propagate.engine.edits.moving import Moved
from propagate.engine.job import Drawn, Job, Measures
from propagate.engine.marks_on_lines import End
from propagate.engine.rows import GirthRow, TruedCorner
from propagate.engine.state import State
from propagate.engine.walk_checks import corner_angles
from propagate.errors import EditError
from propagate.geometry.polyline import locate_all
from propagate.pattern.relations import Seam
from propagate.pattern.spans import span_points
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = ["Joint", "Truing", "find_joint"]

_RUNS_ON_DEG = 0.1
"""A line that bends by less at a seam runs on smoothly already."""
_MOST_DEG = 30.0
"""Corners that miss a straight line by more are no line that was meant to run on."""
_LEAST_MM = 20.0
"""Over less a bend is a corner of its own."""


@dataclass(frozen=True)
class Joint:
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

    @property
    def total(self) -> float:
        """Both corner angles together, degrees."""
        angles = [angle_at(at.edges, at.edge, end) for at, end in self.sides]
        return sum(angles) * (2.0 / len(angles))


def find_joint(job: Job, seam: Seam, end: str) -> Joint | None:
    """The lines that cross a seam at one of its ends; None where one of them goes on beyond.

    Raises
    ------
    EditError
        When a line cannot be edited, such as one that is drawn from a main piece.
    """
    whole = whole_edges(job.pattern)
    runs = seam.lead, seam.lead if seam.mirror else seam.follow
    sides = []
    for run, key in zip(runs, seam.crossing[end], strict=True):
        name = key.partition(".")[0]
        span, k = (run[0], 0) if end == "start" else (run[-1], -1)
        corner = span_points(job.pattern.sized(name, job.size), span)[k]
        at = edge_of_set(job.pattern, whole.get(key, key), job.size)
        if at.taped is not None:
            corner = at.taped.motions[name].apply(corner)
        gaps = np.hypot(*(at.edge.points[[0, -1]] - corner).T)
        if gaps.min() > WALK_MM:
            return None
        own: End = "start" if gaps[0] <= gaps[1] else "end"
        sides.append((at, own))
    return Joint(seam, end, tuple(sides[:1] if seam.mirror else sides))


@dataclass
class Truing:
    """Bends that make lines run on, gathered corner by corner.

    Attributes
    ----------
    bends : mapping of ``OWNER.EDGE`` to the edge and its bends
    rows : list of mapping
        What the edit tells of every corner.
    corners : list of TruedCorner
        Corners that are trued; what they become is measured when the result is there.
    """

    bends: dict[str, tuple[EdgeOfSet, dict[End, Bend]]] = field(default_factory=dict)
    rows: list[dict[str, object]] = field(default_factory=list)
    corners: list[TruedCorner] = field(default_factory=list)

    def add(
        self,
        joint: Joint,
        places: Mapping[str, str] | None = None,
        stay: Callable[[EdgeOfSet], bool] = lambda _: False,
    ) -> None:
        """Bend the lines of a corner, each by the same share of the miss.

        Parameters
        ----------
        joint : Joint
        places : mapping of ``OWNER.EDGE`` to the place at which its bend has faded out
            Else the next dart or corner inside the edge, at most half of it.
        stay : callable
            Whether a line stays as it is: the other one is bent by all of the miss.

        Raises
        ------
        EditError, UnknownName
            Where there is no room for the bend, or nothing that may be bent.
        """
        total = joint.total
        row: dict[str, object] = {
            "seam": joint.seam.name,
            "end": joint.end,
            "before_deg": total,
            "turned_deg": {},
        }
        if abs(180.0 - total) <= _RUNS_ON_DEG:
            self.rows.append(row)
            return
        if abs(180.0 - total) > _MOST_DEG:
            raise EditError(
                f"{joint.sides[0][0].where}: found corners that add up to {total:.1f}° across seam "
                f"'{joint.seam.name}', expected 180° within {_MOST_DEG:g}°; a line that is meant "
                "to turn there is a 'peak' of the seam"
            )
        given = [side for side in joint.sides if not stay(side[0])]
        if not given:
            raise EditError(
                f"{joint.sides[0][0].where}: found no line at the {joint.end} of seam "
                f"'{joint.seam.name}' that may be bent, expected one that was not drawn as it is "
                "to be; draw one of them so that it runs on"
            )
        share = (180.0 - total) / (2.0 if joint.seam.mirror else len(given))
        found, shifts = [], []
        for at, end in given:
            over = _choose_reach(at, end, (places or {}).get(at.key, ""))
            wanted = angle_at(at.edges, at.edge, end) + share
            bend = bend_to_angle(at.edges, at.edge, end, over, wanted)
            bent, _ = bend_edge(at.edge, {end: bend})
            shifts.append(float(locate_all(at.edge.points, bent.points)[1].max()))
            found.append((at, end, bend))
        for at, end, bend in found:
            self.bends.setdefault(at.key, (at, {}))[1][end] = bend
        self.rows.append({**row, "turned_deg": {at.key: share for at, _, _ in found}})
        self.corners.append(
            TruedCorner(
                name=joint.seam.name,
                what=f"{' and '.join(at.key for at, _ in joint.sides)}, at the {joint.end}",
                end=joint.end,
                before_deg=total,
                after_deg=180.0,
                shift_mm=max(shifts),
                over_mm=max(bend.over for _, _, bend in found),
            )
        )

    def across_words(self) -> str:
        """The seams across which lines run on now, with what their corners were."""
        rows = self.corners
        return " and ".join(f"{row.name} ({row.before_deg:.1f}° before, now 180°)" for row in rows)

    def drawn(self, job: Job, said: str, words: dict[str, object]) -> Drawn:
        """What the bends draw; with each corner's row of the record."""
        found: dict[str, tuple[EdgeOfSet, Moved]] = {}
        for of, ends in self.bends.values():
            edge, stretches = bend_edge(of.edge, ends)
            known = found[of.owner][1] if of.owner in found else Moved({}, {})
            new = Moved({**known.edges, edge.name: edge}, {**known.stretches, edge.name: stretches})
            found[of.owner] = (of, new)
        drawn = drawn_edges(
            job,
            list(found.values()),
            said,
            {**words, "corners": self.rows},
            lambda _: "trued across its seams",
        )
        corners = tuple(self.corners)

        def measure(state: State, _: Sequence[GirthRow]) -> Measures:
            seams = state.pattern.relations.seams
            angles = (corner_angles(state.lookup, seams[row.name], row.end) for row in corners)
            return Measures(
                corners=tuple(
                    replace(row, after_deg=sum(pair))
                    for row, pair in zip(corners, angles, strict=True)
                )
            )

        return replace(drawn, trued=False, widths=False, measure=measure)


def _choose_reach(of: EdgeOfSet, end: End, to: str) -> float:
    """Distance from a corner over which a bend fades, mm.

    Without a place up to the next dart leg or corner, at most to the middle.
    """
    length = of.edge.length
    if to:
        at = edge_place(of, to)
    else:
        fixed = [length / 2, *of.edge.arc[list(of.edge.turns)].tolist()]
        fixed += [place for _, mark, place in of.marks() if mark.kind == "dart leg"]
        at = float(min(fixed) if end == "start" else max(fixed))
    over = at if end == "start" else length - at
    if not _LEAST_MM <= over <= length:
        raise EditError(
            f"{of.where}: found {over:.1f} mm of edge '{of.edge.name}' from its {end} to "
            f"{to or 'the next dart or corner'}, expected {_LEAST_MM:g} mm at least and no "
            f"more than the edge has ({length:.1f} mm); name another place with 'to', or "
            "'alone' where the mate has no room"
        )
    return over
