"""Carry the relations of a set to another with its names, where all that they name is there."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from propagate.pattern.kinds import BLEND, KINDS, relations_of
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.runs import Span
from propagate.pattern.titles import titled_names
from propagate.pattern.validate import find_problems
from propagate.values import dataclass

__all__ = ["LeftOut", "TakenOver", "take_over_relations"]


_IN_SIZE = re.compile(r" in size '[^']*'")


@dataclass(frozen=True)
class LeftOut:
    """A relation that was not carried.

    Attributes
    ----------
    kind, name : str
    why : tuple of str
        Sentences without a full stop.
    """

    kind: str
    name: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class TakenOver:
    """What became of the relations of a set.

    Attributes
    ----------
    relations : Relations
        Those that were carried, with the titles of what is there.
    left_out : tuple of LeftOut
    without : tuple of LeftOut
        Carried, but for something that it says.
    """

    relations: Relations
    left_out: tuple[LeftOut, ...]
    without: tuple[LeftOut, ...]


def take_over_relations(
    pattern: PatternSet,
    old: PatternSet,
    sure: Collection[str],
    refused: Mapping[tuple[str, str], str] | None = None,
) -> TakenOver:
    """Carry over every relation of which all that it names is there.

    Parameters
    ----------
    pattern : PatternSet
        Without relations; what is in the same place has the name it has in `old`.
    old : PatternSet
    sure : collection of str
        Pieces of `pattern` that are those of `old`; the others are none of its, whatever they
        are called.
    refused : mapping of (kind, name) to a sentence
        Relations that are left out, and why.
    """
    refused = refused or {}
    work = _Carrying(
        old,
        replace(
            pattern,
            pieces={name: pattern.pieces[name] for name in pattern.pieces if name in sure},
            info={name: pattern.info[name] for name in pattern.info if name in sure},
            relations=Relations(),
        ),
    )
    for key, kind in KINDS.items():
        group: dict[str, Any] = {}
        for name, relation in relations_of(old.relations, key).items():
            if (key, name) in refused:
                work.left_out.append(LeftOut(key, name, (refused[key, name],)))
            else:
                group[name] = work.fit_to_set(key, relation)
        work.add_kind(key, kind.kept, group)
    if old.relations.blend is not None and (BLEND.key, "") not in refused:
        plan = old.relations.blend
        work.try_one(BLEND.key, "", plan, replace(work.relations, blend=plan))
    levels = {n for p in work.pattern.pieces.values() for n in p.at(pattern.base).levels}
    trial = replace(work.pattern, relations=work.relations)
    known = {*levels, *titled_names(trial)}
    titles = {name: title for name, title in old.relations.titles.items() if name in known}
    return TakenOver(
        replace(work.relations, titles=titles),
        tuple(work.left_out),
        tuple(o for o in work.without if o.name in relations_of(work.relations, o.kind)),
    )


class _Carrying:
    def __init__(self, old: PatternSet, pattern: PatternSet) -> None:
        self.old, self.pattern = old, pattern
        self.relations = Relations()
        self.left_out: list[LeftOut] = []
        self.without: list[LeftOut] = []
        self._known = set(find_problems(pattern))

    def fit_to_set(self, key: str, relation: Any) -> Any:
        """A relation without what is said of a chart, which is of the set before alone."""
        row = getattr(relation, "chart", None)
        if row is None or row in self.pattern.chart:
            return relation
        why = f"this set has no row '{row}' of a chart"
        self.without.append(LeftOut(key, getattr(relation, KINDS[key].naming), (why,)))
        return replace(relation, chart=None)

    def add_kind(self, key: str, kept: str, group: Mapping[str, Any]) -> None:
        """Add those of a kind that can be: all of them, else one after the other."""
        if not group:
            return
        if not self._find_new_problems(self._with(key, kept, group)):
            self.relations = self._with(key, kept, group)
            return
        for name, relation in group.items():
            self.try_one(key, name, relation, self._with(key, kept, {name: relation}))

    def try_one(self, key: str, name: str, relation: Any, relations: Relations) -> None:
        """Take relations with one more where nothing is wrong with it."""
        wrong = self._find_new_problems(relations)
        if wrong:
            missing = dict.fromkeys(self._find_missing(relation))
            why = tuple(f"{one} is not found" for one in missing)
            self.left_out.append(LeftOut(key, name, why or wrong))
        else:
            self.relations = relations

    def _with(self, key: str, kept: str, more: Mapping[str, Any]) -> Relations:
        now: Any = {**relations_of(self.relations, key), **more}
        if kept:
            changed: dict[str, Any] = {kept: now}
            return replace(self.relations, **changed)
        return replace(self.relations, others={**self.relations.others, key: now})

    def _find_new_problems(self, relations: Relations) -> tuple[str, ...]:
        found = find_problems(replace(self.pattern, relations=relations))
        # What is missing is missing in every size alike: it is told once.
        told: dict[str, str] = {}
        for line in found:
            if line not in self._known:
                told.setdefault(_IN_SIZE.sub("", line), line)
        return tuple(told.values())

    def _find_missing(self, value: Any) -> Iterator[str]:
        """What a relation names on pieces of the set before, and this set does not have."""
        if isinstance(value, Span):
            marks = [mark for mark in (value.begin, value.end) if mark not in ("start", "end")]
            for name in (value.edge, *marks):
                yield from self._find_missing(f"{value.piece}.{name}")
        elif isinstance(value, str):
            piece, _, name = value.partition(".")
            if piece in self.old.pieces and piece not in self.pattern.pieces:
                yield f"piece '{piece}'"
            elif name and piece in self.pattern.pieces:
                sized = self.pattern.sized(piece, self.pattern.base)
                if name not in sized.edge_names and sized.find_landmark(name) is None:
                    yield f"'{name}' of '{piece}'"
        elif isinstance(value, Mapping):
            for item in (*value, *value.values()):
                yield from self._find_missing(item)
        elif isinstance(value, tuple):
            for item in value:
                yield from self._find_missing(item)
        elif is_dataclass(value):
            for one in fields(value):
                if one.name != "title":
                    yield from self._find_missing(getattr(value, one.name))
