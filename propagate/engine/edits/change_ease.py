"""Change by how much one side of a seam, or the run of a band's zone, is longer on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from typing import ClassVar

from propagate.engine.edits.sized import SizedEdit
from propagate.engine.graph import causes_of
from propagate.engine.job import Drawn, Job
from propagate.errors import EditError, UnknownName
from propagate.pattern.ease import Ease, EaseSaid, ease_in_size, ease_words
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Seam, Zone
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["ChangeEase"]


@dataclass(frozen=True, kw_only=True)
class ChangeEase(SizedEdit):
    """The edit: a seam, or a zone of a band, gets another ease; what follows there gives.

    Attributes
    ----------
    seam : str
        A seam, or ``BAND.ZONE``.
    to : EaseSaid
        The whole ease from now on.  Of a seam its follower is longer by it, of a zone its run.
    """

    word: ClassVar[str] = "ease"

    seam: str = field(metadata=told("text", "the seam, or `BAND.ZONE` for a zone of a band"))
    to: EaseSaid = field(
        metadata=told("ease", "the whole ease from now on; by zones for a seam alone")
    )

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """The set with the ease in some of its sizes; raises UnknownName, EditError."""
        relations = pattern.relations
        join = self._join(pattern)
        if isinstance(join, Seam):
            ease = self._ease(pattern, join.ease, sizes)
            seams = {**relations.seams, join.name: replace(join, ease=ease)}
            unchanged, fresh = ease == join.ease, replace(relations, seams=seams)
        else:
            band, zone = join
            ease = self._ease(pattern, zone.ease, sizes)
            zones = tuple(replace(one, ease=ease) if one is zone else one for one in band.zones)
            bands = {**relations.bands, band.name: replace(band, zones=zones)}
            unchanged, fresh = ease == zone.ease, replace(relations, bands=bands)
        if unchanged:
            return pattern
        return self.checked(pattern, replace(pattern, relations=fresh))

    def draw(self, job: Job) -> Drawn:
        """Draw nothing: whatever is sewn to the lead is visited, and the follower gives."""
        join = self._join(job.pattern)
        if isinstance(join, Seam):
            node, spans, ease = ("seam", join.name), [*join.lead, *join.follow], join.ease
        else:
            node, spans, ease = ("band", join[0].name), [*join[1].run], join[1].ease
        said = ease_words(ease_in_size(ease, job.size), lambda mm: f"{mm:g} mm")
        return Drawn(
            said=f"ease of {self.seam} {said}",
            words=self.words(job, (span.piece for span in spans), to=said),
            visit=tuple(causes_of(job.pattern, node)),
            asked=frozenset({self.seam}),
        )

    def _join(self, pattern: PatternSet) -> Seam | tuple[Band, Zone]:
        """The seam, or the band and its zone; raises UnknownName, EditError."""
        relations = pattern.relations
        seam = relations.seams.get(self.seam)
        if seam is not None:
            why = ""
            if seam.mirror:
                why = "it is sewn to its own mirrored twin"
            elif seam.check:
                why = "it is only walked, and neither side follows the other"
            elif seam.fixed:
                why = "its follower cannot change"
            if not why:
                return seam
            raise EditError(
                f"{self.where(pattern)}: found seam '{seam.name}', but {why}; expected one whose "
                "follower can give"
            )
        zones = {
            f"{band.name}.{zone.name}": (band, zone)
            for band in relations.bands.values()
            for zone in band.zones
        }
        if self.seam not in zones:
            matched = [n for n, s in relations.seams.items() if not (s.mirror or s.check)]
            raise UnknownName("seam or zone", self.seam, [*matched, *zones], self.where(pattern))
        if not zones[self.seam][1].run:
            raise EditError(
                f"{self.where(pattern)}: zone '{self.seam}' is sewn to nothing and keeps its "
                "length, expected one with a run"
            )
        if isinstance(self.to, Ease) and self.to.zones:
            raise EditError(
                f"{self.where(pattern)}: found an ease by zones for zone '{self.seam}', "
                "expected one ease"
            )
        return zones[self.seam]

    def _ease(self, pattern: PatternSet, was: EaseSaid, sizes: Sequence[str]) -> EaseSaid:
        """The ease from now on; where some sizes keep theirs, one for each size."""
        if set(sizes) == set(pattern.sizes):
            return self.to
        if any(isinstance(one, Ease) and one.zones for one in (self.to, was)):
            raise EditError(
                f"{self.where(pattern)}: an ease by zones holds for every size, found size "
                f"{', '.join(sizes)} alone; write the sizes within its zones"
            )
        said = dict(self.to.sizes) if isinstance(self.to, Ease) else {}
        missing = [size for size in sizes if said and size not in said]
        if missing:
            raise EditError(
                f"{self.where(pattern)}: found no ease for size '{missing[0]}', expected one for "
                "each size that is changed"
            )
        by_size = [
            (size, ease_in_size(self.to if size in sizes else was, size)) for size in pattern.sizes
        ]
        if all(ease_in_size(was, size) == ease for size, ease in by_size):
            return was
        return Ease(sizes=tuple(by_size))
