"""A demo set without the relations that are asked about, and with those that were confirmed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.suggesting import Suggestions
from tests.suggesting.strangers import Names, seam_key
from tests.suggesting.test_demo_sets import Case

_ASKED = ("seams", "assemblies", "openings", "stacks", "bands")


def bare_of(real: PatternSet) -> PatternSet:
    """Geometry, names and levels alone."""
    titles = real.relations.titles
    return replace(real, relations=type(real.relations)(titles=titles))


def case_of(real: PatternSet) -> Case:
    """What the draft's own set knows about its bare pieces, which keep their names."""
    sized = {name: real.sized(name, real.base) for name in real.pieces}
    names = Names(
        {name: name for name in sized},
        {(name, edge): edge for name, one in sized.items() for edge in one.edge_names},
        {(name, mark.name): mark.name for name, one in sized.items() for mark in one.landmarks},
    )
    bare = bare_of(real)
    return Case(real, bare, names, Suggestions(bare, ()))


def in_place_of_the_drafts(real: PatternSet, joined: PatternSet) -> PatternSet:
    """The draft's set with what was confirmed in the place of its own, under its own names.

    Girths, places, the blend and whatever else geometry cannot tell stay as they are.
    """
    own, found = real.relations, joined.relations
    seams = {seam_key(seam): seam.name for seam in own.seams.values()}
    names: dict[str, dict[str, str]] = {
        "seams": {name: seams[seam_key(seam)] for name, seam in found.seams.items()},
        "assemblies": _matched(found.assemblies, own.assemblies, "lead"),
        "openings": _matched(found.openings, own.openings, "edge"),
        "bands": _matched(found.bands, own.bands, "sewn"),
    }
    openings = {
        name: replace(one, silhouette=names["assemblies"][one.silhouette])
        for name, one in found.openings.items()
    }
    stacks = {
        name: replace(one, opening=names["openings"][one.opening])
        for name, one in found.stacks.items()
    }
    said: dict[str, Any] = {
        "seams": _renamed(found.seams, names["seams"]),
        "assemblies": _renamed(found.assemblies, names["assemblies"]),
        "openings": _renamed(openings, names["openings"]),
        "stacks": stacks,
        "bands": _renamed(found.bands, names["bands"]),
    }
    return replace(real, relations=replace(own, **said))


def _matched(found: Mapping[str, Any], own: Mapping[str, Any], by: str) -> dict[str, str]:
    known = {getattr(one, by): name for name, one in own.items()}
    return {name: known[getattr(one, by)] for name, one in found.items()}


def _renamed(found: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    return {names[old]: replace(one, name=names[old]) for old, one in found.items()}
