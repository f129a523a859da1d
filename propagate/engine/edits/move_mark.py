"""Move a mark: a notch along its edge, a drill mark or an inner line within its piece.

The notch that meets it across the seam goes by as much along its own side.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import ClassVar

import numpy as np
import shapely

from propagate.engine.darts.cap import lie_of
from propagate.engine.darts.changes import mouth_of
from propagate.engine.edits.edge_of_set import EdgeOfSet, edge_place
from propagate.engine.edits.nearest import largest_share
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.marks_on_lines import put_mark, slid_place, with_marks
from propagate.engine.record import EDIT, Change, ChangeKind
from propagate.engine.reshape import rounded
from propagate.errors import EditError, UnknownName
from propagate.geometry.polyline import as_pair
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.buttons import points_of
from propagate.pattern.model import Array, InternalLine, Landmark, Mark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import span_ends
from propagate.pattern.told import told
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["MoveMark"]


@dataclass(frozen=True, kw_only=True)
class MoveMark(SizedEdit):
    """The edit: a mark lies elsewhere.

    Attributes
    ----------
    mark : str
        ``PIECE.MARK``: a landmark, a drill mark or an inner line.
    by : Amount or None
        A landmark along its edge, towards its end; others along the grain, upwards.  Below 0
        the other way.
    to : str
        Of a landmark: the place on its edge.
    across : Amount or None
        Of the others: square to the grain, to the right as the piece stands.
    """

    word: ClassVar[str] = "move-mark"

    mark: str = field(metadata=told("text", "`PIECE.MARK`: a notch, a drill mark, an inner line"))
    by: Amount | None = field(
        default=None,
        metadata=told(
            "amount",
            "how far; a notch towards the end of its edge, the others up the grain; below 0 the "
            "other way",
        ),
    )
    to: str = field(
        default="", metadata=told("place", "of a notch, where it is put instead of 'by'")
    )
    across: Amount | None = field(
        default=None,
        metadata=told(
            "amount", "of the others, how far to the right square to the grain; below 0 to the left"
        ),
    )

    def draw(self, job: Job) -> Drawn:
        """Put the mark in its place; raises UnknownName, EditError."""
        owner, _, name = self.mark.partition(".")
        piece = job.pattern.sized(owner, job.size)
        where = job.where(owner)
        within: list[Mark | InternalLine] = [*piece.drills, *piece.lines]
        inner = next((one for one in within if one.name == name), None)
        if name in {mark.name for mark in piece.landmarks}:
            by = self._along(job, owner, piece, where)
            given, nodes = _moved_landmark(job, owner, piece, name, by)
            text = f"moved by {by:+.1f} mm along '{piece.landmark(name).edge}'"
        elif inner is not None:
            given = {owner: self._moved_inner(job, owner, piece, inner, where)}
            nodes = [f"{owner}.{name}"]
            text = f"moved {self._words()}"
        else:
            known = [*(mark.name for mark in piece.landmarks), *(one.name for one in within)]
            raise UnknownName("mark", name, known, f"piece '{owner}'")
        return Drawn(
            said=f"{self.mark} {text}",
            words=self.words(job, given),
            changes=tuple(
                Change(node, ChangeKind.MARKED, f"'{name}' {text}", EDIT) for node in nodes
            ),
            given=Given(given, loose=frozenset(given)),
        )

    def _words(self) -> str:
        said = [
            f"{amount_words(amount)} {way}"
            for amount, way in ((self.by, "up the grain"), (self.across, "across it"))
            if amount is not None
        ]
        return " and ".join(said)

    def _along(self, job: Job, owner: str, piece: SizedPiece, where: str) -> float:
        """How far a landmark goes along its edge, mm; raises UnknownName, EditError."""
        mark = piece.landmark(self.mark.partition(".")[2])
        _refuse_bound(job.pattern, owner, mark, where)
        if self.across is not None or (self.by is None) == (not self.to):
            raise EditError(
                f"{where}: expected either 'by' or 'to' for '{mark.name}', which lies on edge "
                f"'{mark.edge}', and no 'across'"
            )
        edge = piece.edge(mark.edge)
        at = piece.distance(mark.edge, mark.name)
        if self.by is None:
            of = EdgeOfSet.on_piece(owner, edge, piece, where)
            by = edge_place(of, self.to) - at
        else:
            by = self.amount(
                job, self.by, lambda size: job.pattern.sized(owner, size).edge(mark.edge).length
            )
        if not 0.0 <= at + by <= edge.length:
            beyond = max(-(at + by), at + by - edge.length)
            near = -at if by < 0 else edge.length - at
            raise EditError(
                f"{where}: '{mark.name}' would lie {beyond:.1f} mm beyond edge '{mark.edge}'; the "
                f"nearest possible is by = {near:.1f} mm"
            )
        for dart in piece.darts:
            low, high = mouth_of(piece, dart) if dart.edge == mark.edge else (0.0, 0.0)
            if low + SAME_POINT_MM < at + by < high - SAME_POINT_MM:
                near = min((low - at, high - at), key=lambda place: abs(place - by))
                raise EditError(
                    f"{where}: '{mark.name}' would lie in the mouth of dart '{dart.name}'; the "
                    f"nearest possible is by = {near:.1f} mm"
                )
        return by

    def _moved_inner(
        self, job: Job, owner: str, piece: SizedPiece, inner: Mark | InternalLine, where: str
    ) -> SizedPiece:
        """The piece with a drill mark or an inner line elsewhere; raises EditError."""
        if self.to or (self.by is None and self.across is None):
            raise EditError(
                f"{where}: expected 'by', 'across' or both for '{inner.name}', which lies within "
                "the piece, and no 'to'"
            )
        up = np.array(lie_of(job.pattern, owner, piece).up)

        def mm(amount: Amount | None, axis: int) -> float:
            def reach(size: str) -> float:
                sized = job.pattern.sized(owner, size)
                own = np.array(lie_of(job.pattern, owner, sized).up)
                return float(np.ptp(sized.outline @ (own, np.array([own[1], -own[0]]))[axis]))

            return 0.0 if amount is None else self.amount(job, amount, reach)

        shift = mm(self.by, 0) * up + mm(self.across, 1) * np.array([up[1], -up[0]])
        points = points_of(inner)
        _refuse_outside(piece, inner.name, points, shift, where)
        moved = rounded(points + shift)
        if isinstance(inner, Mark):
            drill = Mark(inner.name, as_pair(moved[0]))
            return replace(
                piece, drills=tuple(drill if one is inner else one for one in piece.drills)
            )
        line = InternalLine(inner.name, moved)
        return replace(piece, lines=tuple(line if one is inner else one for one in piece.lines))


def _refuse_bound(pattern: PatternSet, piece: str, mark: Landmark, where: str) -> None:
    """Refuse a landmark whose place something else decides; raises EditError."""
    relations = pattern.relations
    if mark.kind == "dart leg":
        raise EditError(
            f"{where}: '{mark.name}' is the leg of a dart, expected a notch; move the dart, or "
            "make it wider or narrower"
        )
    put = [
        (part.piece, assembly.lead, part.put)
        for assembly in relations.assemblies.values()
        for part in assembly.parts
    ]
    put += [
        (layer.piece, relations.openings[stack.opening].piece, layer.put)
        for stack in relations.stacks.values()
        for layer in stack.layers
    ]
    for own, main, pairs in put:
        if any((own, a) == (piece, mark.name) or (main, b) == (piece, mark.name) for a, b in pairs):
            raise EditError(
                f"{where}: by '{mark.name}' '{own}' is put on '{main}', expected a mark that no "
                "piece is put by; change the opening instead"
            )
    for band in relations.bands.values():
        ends = {end for zone in band.zones for end in (zone.begin, zone.end)}
        if band.piece == piece and mark.name in ends:
            raise EditError(
                f"{where}: '{mark.name}' ends a zone of band '{band.name}', which is as long as "
                "what it is sewn to; change that"
            )


def _moved_landmark(
    job: Job, owner: str, piece: SizedPiece, name: str, by: float
) -> tuple[dict[str, SizedPiece], list[str]]:
    """The piece with its landmark moved, and the piece of a partner that would not follow.

    Across a seam a follower's notch follows its lead's; the other way round, where a seam is
    only walked, and where the two are what the seam runs up to, both are moved here.
    """
    given = {owner: _put_landmark(piece, name, by)}
    nodes = [f"{owner}.{piece.landmark(name).edge}"]
    for seam, theirs, own_run, run in _find_partners(job.pattern, f"{owner}.{name}"):
        other, _, mark = theirs.partition(".")
        sized = given.get(other) or job.pattern.sized(other, job.size)
        step = by * _find_way(piece, own_run, owner, name) * _find_way(sized, run, other, mark)
        edge = sized.landmark(mark).edge
        if not 0.0 <= sized.distance(edge, mark) + step <= sized.edge(edge).length:
            raise EditError(
                f"set '{job.pattern.name}', size '{job.size}': '{theirs}', which meets "
                f"'{owner}.{name}' in seam '{seam.name}', would leave its edge '{edge}'; move it "
                "less far"
            )
        given[other] = _put_landmark(sized, mark, step)
        nodes.append(f"{other}.{edge}")
    return given, nodes


def _find_partners(pattern: PatternSet, key: str) -> list[tuple[Seam, str, Run, Run]]:
    """Seam, partner, own run and partner's run of each notch that is to be moved along."""
    found: dict[str, tuple[Seam, str, Run, Run]] = {}
    for seam in pattern.relations.seams.values():
        if seam.mirror:
            continue
        bounds = []  # the landmarks at which both runs begin, and at which both end
        for mine, theirs, first, second in (
            (seam.lead[0], seam.follow[0], seam.lead[0].begin, seam.follow[0].begin),
            (seam.lead[-1], seam.follow[-1], seam.lead[-1].end, seam.follow[-1].end),
        ):
            if not {first, second} & {"start", "end"}:
                bounds.append((f"{mine.piece}.{first}", f"{theirs.piece}.{second}"))
        for pair in dict.fromkeys((*seam.notches, *bounds)):
            lead, follow = pair
            if key == follow:
                found.setdefault(lead, (seam, lead, seam.follow, seam.lead))
            elif key == lead and (seam.check or pair in bounds):
                found.setdefault(follow, (seam, follow, seam.lead, seam.follow))
    return list(found.values())


def _find_way(piece: SizedPiece, run: Run, owner: str, mark: str) -> float:
    """+1 where the run goes along the edge of a mark as it is drawn, -1 where it goes back."""
    edge = piece.landmark(mark).edge
    for span in run:
        if (span.piece, span.edge) == (owner, edge):
            begin, end = span_ends(piece, span)
            return 1.0 if begin <= end else -1.0
    return 1.0


def _put_landmark(piece: SizedPiece, name: str, by: float) -> SizedPiece:
    mark = piece.landmark(name)
    put = put_mark(mark, piece.edge(mark.edge), slid_place(piece, mark, by))
    return with_marks(piece, {name: put})


def _refuse_outside(piece: SizedPiece, name: str, points: Array, shift: Array, where: str) -> None:
    """Refuse to move something over the outline, with the nearest that stays inside."""
    area = shapely.Polygon(piece.outline).buffer(ON_LINE_MM)

    def inside(share: float) -> bool:
        moved = points + share * shift
        what = shapely.Point(moved[0]) if len(moved) == 1 else shapely.LineString(moved)
        return bool(area.covers(what))

    if inside(1.0) or not inside(0.0):
        return
    low, far = largest_share(inside, 40), float(np.hypot(*shift))
    raise EditError(
        f"{where}: '{name}' would leave the piece; the nearest possible is {low * far:.1f} mm of "
        f"the {far:.1f} mm asked for"
    )
