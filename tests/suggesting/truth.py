"""Judge proposals for a stripped set by the relations that its draft was written with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from propagate.pattern.model import Array
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import (
    Assembly,
    Band,
    Opening,
    Run,
    Seam,
    SeamOpening,
    Span,
    Stack,
    Zone,
)
from propagate.suggesting import Proposal, Suggestions
from tests.suggesting.same_again import list_the_same
from tests.suggesting.strangers import Names, SeamKey, band_key, seam_key


@dataclass(frozen=True)
class Case:
    real: PatternSet
    bare: PatternSet
    names: Names
    found: Suggestions
    copies: Mapping[str, str] = field(default_factory=dict)
    also: tuple[Seam, ...] = ()
    _same: dict[tuple[str, str], set[SeamKey]] = field(default_factory=dict, repr=False)

    def true_seams(self) -> dict[str, Seam]:
        return {
            name: Seam(name, self.names.run(seam.lead), self.names.run(seam.follow))
            for name, seam in self.real.relations.seams.items()
        }

    def is_true(self, one: Proposal) -> bool:
        """Whether everything that a proposal would write is one of the draft's relations."""
        return all(self._holds(relation) for relation in one.relations)

    def names_of(self, one: Proposal) -> set[str]:
        """The draft's relations that a proposal is, by their names."""
        found = set()
        said = self.real.relations
        for kind in ("seams", "openings", "stacks", "bands"):
            for name, relation in getattr(said, kind).items():
                # A stack is one of an opening, so those stay.
                only = {"seams": {}, "bands": {}, kind: {name: relation}}
                alone = replace(self, real=replace(self.real, relations=replace(said, **only)))
                alone = replace(alone, also=())
                if kind in ("seams", "bands"):
                    own = [each for each in one.relations if isinstance(each, Seam | Band)]
                else:
                    own = [each for each in one.relations if type(each) is type(relation)]
                if any(alone._holds(each) for each in own):
                    found.add(name)
        return found

    def _original(self, run: Run) -> Run:
        """A run of a copy, as the same run of what it is a copy of."""
        return tuple(self._first(span) for span in run)

    def _plain(self, seam: Seam) -> Seam:
        """A plain rectangle without marks is the same whichever way it is turned."""
        lead, follow = (self._turned(self._original(run)) for run in (seam.lead, seam.follow))
        if all(span.begin == "either" for span in follow):
            # A strip sewn round and round begins anywhere.
            k = min(range(len(lead)), key=lambda i: lead[i].key)
            lead = lead[k:] + lead[:k] if _forward(lead) else lead[k + 1 :] + lead[: k + 1]
        return Seam("", lead, follow)

    def _turned(self, run: Run) -> Run:
        return tuple(
            Span(self._first_like(span.piece), _long_or_short(self.bare, span), "either", "either")
            if _is_rectangle(self.bare, span.piece)
            else span
            for span in run
        )

    def _first_like(self, piece: str) -> str:
        """The first of the plain rectangles that are as long and wide as a piece."""
        return next(
            name
            for name in self.bare.pieces
            if _is_rectangle(self.bare, name)
            and all(
                abs(a - b) < 0.3
                for size in self.bare.sizes
                for a, b in zip(
                    _lengths(self.bare, name, size), _lengths(self.bare, piece, size), strict=True
                )
            )
        )

    def _first(self, span: Span) -> Span:
        if span.key not in self.copies:
            return span
        piece, edge = self.copies[span.key].split(".")
        return Span(piece, edge, _swapped(span.begin), _swapped(span.end))

    def _holds(self, relation: object) -> bool:
        if isinstance(relation, Seam):
            if relation.mirror:
                return self._is_mirrored(self._original(relation.lead))
            own = seam_key(self._plain(relation))
            true = [*self.true_seams().values(), *self.whole_bands(), *self.also]
            return own in {seam_key(self._plain(one)) for one in true} or any(
                self._is_the_same(relation, one) for one in true
            )
        if isinstance(relation, Assembly):
            return _assembly_key(relation) in {
                _assembly_key(self._assembly(a)) for a in self.real.relations.assemblies.values()
            }
        if isinstance(relation, Opening):
            return _opening_key(relation) in {
                self._opening(one) for one in self.real.relations.openings.values()
            }
        if isinstance(relation, Stack):
            return _layers(relation) in [
                self._layers(stack) for stack in self.real.relations.stacks.values()
            ]
        if isinstance(relation, SeamOpening):
            own_sides = {str(run[0]) for run in relation.sides}
            return own_sides in [
                {str(self.names.span(run[0])) for run in one.sides}
                for one in self.real.relations.seam_openings.values()
            ]
        assert isinstance(relation, Band)
        return band_key(relation) in {
            band_key(self._band(band)) for band in self.real.relations.bands.values()
        }

    def whole_bands(self) -> list[Seam]:
        """Bands whose every zone is sewn to a run without ease, as the seams that they are too.

        One that goes all round may begin wherever its zones are as long again.
        """
        found = []
        for name, band in self.real.relations.bands.items():
            if all(zone.run and not zone.ease for zone in band.zones):
                long = [_zone_lengths(self.real, band, zone) for zone in band.zones]
                for k in range(len(long)):
                    if np.abs(np.subtract(long, long[k:] + long[:k])).max() < 0.3:
                        zones = band.zones[k:] + band.zones[:k]
                        run = tuple(span for zone in zones for span in zone.run)
                        sewn = (Span(band.piece, band.sewn),)
                        found.append(Seam(name, self.names.run(run), self.names.run(sewn)))
        return found

    def _is_the_same(self, relation: Seam, true: Seam) -> bool:
        """Whether it is a true seam with pieces that nothing tells from others."""
        if len(relation.lead) + len(relation.follow) != len(true.lead) + len(true.follow):
            return False
        own = seam_key(Seam("", self._original(relation.lead), self._original(relation.follow)))
        key = str(true.lead), str(true.follow)
        if key not in self._same:
            self._same[key] = {seam_key(one) for one in list_the_same(self.bare, true)}
        return own in self._same[key]

    def _is_mirrored(self, run: Run) -> bool:
        """A part of a seam to a twin is sewn to the twin's part."""
        return any(
            {span.key for span in run} <= {span.key for span in self.names.run(seam.lead)}
            for seam in self.real.relations.seams.values()
            if seam.mirror
        )

    def _assembly(self, one: Assembly) -> Assembly:
        n = self.names
        return replace(
            one,
            lead=n.pieces[one.lead],
            parts=tuple(
                replace(
                    part,
                    piece=n.pieces[part.piece],
                    put=tuple((n.mark(part.piece, a), n.mark(one.lead, b)) for a, b in part.put),
                )
                for part in one.parts
            ),
            edges={k: n.run(run) for k, run in one.edges.items()},
        )

    def _opening(self, one: Opening) -> tuple[str, ...]:
        n, lead = self.names, one.piece
        return (
            n.pieces[lead],
            *(n.edges[lead, edge] for edge in (one.edge, one.across, one.side)),
            one.across_end,
            one.side_end,
        )

    def _layers(self, stack: Stack) -> set[tuple[object, ...]]:
        n = self.names
        lead = self.real.relations.openings[stack.opening].piece
        return {
            (
                n.pieces[layer.piece],
                frozenset((n.mark(layer.piece, a), n.mark(lead, b)) for a, b in layer.put),
                frozenset(
                    (n.edges[layer.piece, own], n.edges[lead, line])
                    for own, line in layer.ride.items()
                ),
                layer.mouth and n.edges[layer.piece, layer.mouth],
                (layer.face_down, layer.shows, layer.bag),
            )
            for layer in stack.layers
        }

    def _band(self, band: Band) -> Band:
        n = self.names
        return replace(
            band,
            piece=n.pieces[band.piece],
            sewn=n.edges[band.piece, band.sewn],
            far=n.edges[band.piece, band.far],
            zones=tuple(
                replace(
                    zone,
                    begin=n.mark(band.piece, zone.begin),
                    end=n.mark(band.piece, zone.end),
                    run=n.run(zone.run),
                )
                for zone in band.zones
            ),
        )


def _zone_lengths(pattern: PatternSet, band: Band, zone: Zone) -> list[float]:
    """How long a zone of a band is, in every size."""
    found = []
    for size in pattern.sizes:
        sized = pattern.sized(band.piece, size)
        ends = [sized.distance(band.sewn, mark) for mark in (zone.begin, zone.end)]
        found.append(abs(ends[1] - ends[0]))
    return found


def _forward(run: Run) -> bool:
    return min(run, key=lambda span: span.key).begin == "start"


def _is_rectangle(pattern: PatternSet, piece: str) -> bool:
    for sized in pattern.pieces[piece].nest.values():
        long = [edge.length for edge in sized.edges]
        if (
            len(long) != 4
            or sized.landmarks
            or not all(_is_straight(edge.points) for edge in sized.edges)
        ):
            return False
        corners = np.array([edge.points[0] for edge in sized.edges])
        if abs(np.hypot(*(corners[0] - corners[2])) - np.hypot(*(corners[1] - corners[3]))) > 0.3:
            return False
        if abs(long[0] - long[2]) > 0.3 or abs(long[1] - long[3]) > 0.3:
            return False
    return True


def _lengths(pattern: PatternSet, piece: str, size: str) -> list[float]:
    return sorted(edge.length for edge in pattern.sized(piece, size).edges)


def _is_straight(points: Array) -> bool:
    chord = points[-1] - points[0]
    along = float(np.hypot(*np.diff(points, axis=0).T).sum())
    return along - float(np.hypot(*chord)) < 0.02


def _long_or_short(pattern: PatternSet, span: Span) -> str:
    sized = pattern.sized(span.piece, pattern.base)
    own = sized.edge(span.edge).length
    return "long" if own > sum(edge.length for edge in sized.edges) / 4 else "short"


def _swapped(end: str) -> str:
    """A mirrored copy runs the other way along its outline."""
    return {"start": "end", "end": "start"}.get(end, end)


def _assembly_key(one: Assembly) -> tuple[object, ...]:
    parts = {(part.piece, frozenset(part.put), part.face_down) for part in one.parts}
    runs = {tuple(str(span) for span in run) for run in one.edges.values()}
    return one.lead, frozenset(parts), frozenset(runs)


def _opening_key(one: Opening) -> tuple[str, ...]:
    return one.piece, one.edge, one.across, one.side, one.across_end, one.side_end


def _layers(stack: Stack) -> set[tuple[object, ...]]:
    return {
        (
            layer.piece,
            frozenset(layer.put),
            frozenset(layer.ride.items()),
            layer.mouth,
            (layer.face_down, layer.shows, layer.bag),
        )
        for layer in stack.layers
    }
