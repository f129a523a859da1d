"""The kinds of relations: one line for each, and from it all that a set needs to know.

What the engine does with a kind stands in `propagate.engine.kinds`, one line for each as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from propagate.pattern import relation_edges as edges
from propagate.pattern import relations as told_by
from propagate.pattern.alike import Alike
from propagate.pattern.buttons import Buttons
from propagate.pattern.derived import Derived
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.pleats import Pleats
from propagate.pattern.set_on import Patch
from propagate.pattern.tape import Tape
from propagate.pattern.told import told_fields
from propagate.pattern.welts import WeltOpening
from propagate.values import dataclass

__all__ = ["BLEND", "KINDS", "Kind", "kind_of", "relations_of"]


@dataclass(frozen=True)
class Kind:
    """A kind of relation.

    Attributes
    ----------
    key : str
        Its word: the key of its tables in TOML, and what messages call it.
    relation : type
        The dataclass, each field of which tells of itself.
    kept : str
        Where a set keeps its relations of the kind: a field of `Relations`; empty: among the
        others.
    judged : callable
        ``PIECE.EDGE`` of every edge that it is judged by when it is walked, sorted.
    links : callable
        What it reads and what it writes in the relation graph; None: it has no node there.
    joined : callable or None
        ``PIECE.EDGE`` of the edges that it accounts for, as a seam does, where those are not all
        that it is judged by.
    """

    key: str
    relation: type[Any]
    kept: str = ""
    judged: Callable[[PatternSet, Any], list[str]] = edges.edges_of_runs
    links: Callable[[PatternSet, Any], edges.Links | None] = edges.only_read
    joined: Callable[[PatternSet, Any], list[str]] | None = None

    @property
    def naming(self) -> str:
        """The field that names one of its relations: the first."""
        return told_fields(self.relation)[0].name


KINDS: dict[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind("assembly", told_by.Assembly, "assemblies", edges.no_edges, edges.no_links),
        Kind("seam", told_by.Seam, "seams", edges.edges_of_runs, edges.seam_links),
        Kind("opening", told_by.Opening, "openings", edges.opening_edges, edges.opening_links),
        Kind("stack", told_by.Stack, "stacks", edges.no_edges, edges.stack_links),
        Kind("band", told_by.Band, "bands", edges.band_edges, edges.band_links),
        Kind("place", told_by.Place, "places", edges.no_edges, edges.place_links),
        Kind("girth", told_by.Girth, "girths", edges.edges_of_runs, edges.girth_links),
        Kind("seam_opening", told_by.SeamOpening, "seam_openings", joined=edges.no_edges),
        Kind(
            "derived",
            Derived,
            "derived",
            edges.derived_edges,
            edges.derived_links,
            edges.derived_own,
        ),
        Kind("patch", Patch, "patches", edges.patch_judged, edges.patch_links, edges.patch_own),
        Kind("alike", Alike, "alike", edges.alike_edges, edges.alike_links, edges.no_edges),
        Kind("buttons", Buttons, "buttons", joined=edges.no_edges),
        Kind("pleats", Pleats, "pleats", joined=edges.no_edges),
        Kind("tape", Tape, "tapes", joined=edges.no_edges),
        Kind(
            "welt_opening",
            WeltOpening,
            "welt_openings",
            edges.welt_judged,
            edges.welt_links,
            edges.welt_own,
        ),
    )
}
"""By their word, in the order in which they are written and checked."""

BLEND = Kind("blend", told_by.BlendPlan, "blend", edges.no_edges, edges.no_links)
"""What a set says of blends: one table, not a list."""


def kind_of(relation: object) -> Kind:
    """Return the kind of a relation."""
    return next(kind for kind in KINDS.values() if kind.relation is type(relation))


def relations_of(relations: Relations, key: str) -> Mapping[str, Any]:
    """Return the relations of a kind by their name."""
    kind = KINDS[key]
    found: Mapping[str, Any] = (
        getattr(relations, kind.kept) if kind.kept else relations.others.get(key, {})
    )
    return found
