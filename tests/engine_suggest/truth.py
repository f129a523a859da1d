"""Judge proposals for a stripped set by the relations that its draft was written with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from propagate.engine.suggest import Proposal, Suggestions
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, Stack
from tests.engine_suggest.strangers import Names, band_key, seam_key


@dataclass(frozen=True)
class Case:
    real: PatternSet
    bare: PatternSet
    names: Names
    found: Suggestions
    copies: Mapping[str, str] = field(default_factory=dict)

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
        for kind in ("seams", "openings", "stacks", "bands"):
            table = getattr(self.real.relations, kind)
            for name, relation in table.items():
                said = replace(self.real.relations, **{kind: {name: relation}})
                alone = replace(self, real=replace(self.real, relations=said))
                own = [each for each in one.relations if type(each) is type(relation)]
                if any(alone._holds(each) for each in own):
                    found.add(name)
        return found

    def _original(self, run: Run) -> Run:
        """A run of a copy, as the same run of what it is a copy of."""
        return tuple(
            replace(
                span,
                piece=self.copies[span.piece],
                begin=_swapped(span.end),
                end=_swapped(span.begin),
            )
            if span.piece in self.copies
            else span
            for span in run
        )

    def _holds(self, relation: object) -> bool:
        if isinstance(relation, Seam):
            seam = Seam("", self._original(relation.lead), self._original(relation.follow))
            if relation.mirror:
                return self._is_mirrored(seam.lead)
            return seam_key(seam) in {seam_key(one) for one in self.true_seams().values()}
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
        assert isinstance(relation, Band)
        return band_key(relation) in {
            band_key(self._band(band)) for band in self.real.relations.bands.values()
        }

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
