"""Which pieces of a set are those of a set before, told by their shapes and by what is sewn.

Every way is looked at in which pieces may answer to pieces; that which is likest in all is taken
where it is clearly so.  Runs that the set before joins and that are as long as each other there
tell pieces apart that look the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from propagate.errors import UnknownName
from propagate.geometry.arrays import Array
from propagate.geometry.corner import signed_area
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.runs import Run, Span
from propagate.pattern.spans import run_length
from propagate.recognise.matched import Doubt, Match, Matched
from propagate.recognise.named_drawing import name_drawing
from propagate.recognise.piece_looks import ALIKE, Laid, Looks, Stretch, lay_outlines, look_at_piece
from propagate.recognise.turned_over import turn_over

__all__ = ["match_pieces"]

ONE_NAME = 0.3
"""A name that both sets have speaks for its pieces by so much."""
SURE, SURE_SHARE = 0.01, 0.5
"""The next likely way is worse by that, and by that part of what is unlike in this one."""
SEWN, NOT_SEWN_MM = 0.5, 8.0
"""A join that is eased as before speaks for its pieces by that; one that is so far off, no more."""
SAME_MM, SAME_DEG, SAME_SHARE = 0.05, 0.5, 0.002
"""Within these two pieces are congruent, as files round them."""
MOST_CLOTH = 0.5
"""Two styles are of a kind when pieces that make so much of one look like those of the other."""
MOST_WAYS = 400
"""Of one group of pieces that look like each other."""


def _is_clearly_liker(far: float, other: float) -> bool:
    return far < other - SURE - SURE_SHARE * far


def match_pieces(pattern: PatternSet, old: PatternSet, said: Sequence[str] = ()) -> Matched:
    """Match the pieces of a set with those of one before.

    Parameters
    ----------
    pattern, old : PatternSet
    said : sequence of str
        Pieces of `pattern` whose names were said by hand: what has one name is one piece.
    """
    search = _Search(pattern, old, frozenset(said))
    turned = {name: turn_over(pattern.pieces[name]) for name in search.list_other_faces()}
    if not turned:
        return search.run()
    found = _Search(
        replace(pattern, pieces={**pattern.pieces, **turned}), old, frozenset(said)
    ).run()
    matched = {one.new for one in found.matches}
    return replace(found, turned={n: piece for n, piece in turned.items() if n in matched})


_Way = tuple[Match, ...]


class _Search:
    def __init__(self, pattern: PatternSet, old: PatternSet, said: frozenset[str]) -> None:
        self.pattern, self.old, self.said = pattern, old, said
        self._known: dict[object, Mapping[str, SizedPiece]] = {}
        self.looks = {n: look_at_piece(p.at(pattern.base)) for n, p in pattern.pieces.items()}
        self.before = {n: look_at_piece(p.at(old.base)) for n, p in old.pieces.items()}
        claimed = said & self.before.keys()
        pairs = [
            (name, now)
            for name in self.before
            for now in self.looks
            if name == now or not claimed & {name, now}
        ]
        self.over: dict[str, dict[str, float]] = {}
        self.options: dict[str, list[Match]] = {}
        longer: Stretch = (0.0, 0.0)
        for _ in range(2):  # once to see how much larger the style is as a whole
            self.over.clear()
            self.options = {name: [] for name in self.before}
            for name, now in pairs:
                self.options[name] += self._list_options(name, now, longer)
            best = [
                min(some, key=lambda one: one.laid.far) for some in self.options.values() if some
            ]
            if best:
                along, across = np.median([one.laid.longer for one in best], axis=0).tolist()
                longer = along, across
        self.options = {
            name: [one for one in some if not self._is_rather_turned(one)]
            for name, some in self.options.items()
        }

    def _is_rather_turned(self, one: Match) -> bool:
        """Whether a piece is clearly liker to some piece of the set before turned over.

        Of two halves that are each other's mirror image but for an end, one that is drawn with the
        other face up looks like its fellow more than like nothing.
        """
        over = min(self.over.get(one.new, {}).values(), default=float("inf"))
        return one.new not in self.said and _is_clearly_liker(over, one.laid.far)

    def _list_options(self, name: str, now: str, longer: Stretch) -> list[Match]:
        looks, own = self.before[name], self.looks[now]
        near = lay_outlines(looks, own, longer)
        over = lay_outlines(looks, [one.turn_over() for one in own], longer)
        best = near[0].far if near else ALIKE
        if over and _is_clearly_liker(over[0].far, min(best, ALIKE)):
            self.over.setdefault(now, {})[name] = over[0].far
            return []
        kept: list[Laid] = []
        for one in near:
            if not any(self._are_same(now, one, other) for other in kept):
                kept.append(one)
        return [Match(name, now, one) for one in kept]

    def list_other_faces(self) -> list[str]:
        """Pieces that look like one of the set before turned over, which is cut alike from either.

        That is a pair, or half a piece on the fold.  Neither the piece as it lies nor another
        piece of the drawing may be about as like.
        """
        plain = [one for some in self.options.values() for one in some]
        found = []
        for now, olds in self.over.items():
            name = min(olds, key=lambda old: (olds[old], old))
            told = (self.old.info[name], self.pattern.info[now])
            rivals = [one.laid.far for one in plain if one.new == now or one.old == name]
            clear = all(_is_clearly_liker(olds[name], far) for far in rivals)
            if clear and any(info.pair or info.fold is not None for info in told):
                found.append(now)
        return found

    # ------------------------------------------------------------------------- the search

    def run(self) -> Matched:
        taken: list[Match] = []
        doubts: list[Doubt] = []
        alike: list[tuple[str, ...]] = []
        groups = sorted(self._groups(), key=lambda names: (sum(map(self._count, names)), names))
        for names in groups:
            found, unsure, same = self._solve(names, taken)
            taken += found
            doubts += unsure
            alike += same
        order = {name: k for k, name in enumerate(self.old.pieces)}
        if not self._is_of_a_kind(taken):
            own = tuple(one for one in taken if one.new in self.said)
            return Matched(own, strange=tuple(one for one in taken if one not in own))
        known = {one.new for one in taken} | {one.new for one in doubts}
        doubts += [
            Doubt(now, (min(olds, key=lambda old: (olds[old], old)),), turned_over=True)
            for now, olds in self.over.items()
            if now not in known
        ]
        place = {name: k for k, name in enumerate(self.pattern.pieces)}
        return Matched(
            tuple(sorted(taken, key=lambda one: order[one.old])),
            tuple(sorted(doubts, key=lambda one: place[one.new])),
            tuple(tuple(sorted(names, key=place.__getitem__)) for names in _merge_sets(alike)),
        )

    def _is_of_a_kind(self, found: Sequence[Match]) -> bool:
        """Whether what was found is most of the cloth of either style."""
        return any(
            sum(_measure_area(pattern, name) for name in names)
            >= MOST_CLOTH * sum(_measure_area(pattern, name) for name in pattern.pieces)
            for pattern, names in (
                (self.pattern, [one.new for one in found]),
                (self.old, [one.old for one in found]),
            )
        )

    def _count(self, name: str) -> int:
        return len(self.options[name])

    def _groups(self) -> list[tuple[str, ...]]:
        """Pieces of the set before in groups that look for the same pieces."""
        groups: list[tuple[set[str], set[str]]] = []
        for name, options in self.options.items():
            names, nows = {name}, {one.new for one in options}
            if not nows:
                continue
            for group in [g for g in groups if g[1] & nows]:
                groups.remove(group)
                names |= group[0]
                nows |= group[1]
            groups.append((names, nows))
        order = list(self.options)
        return [tuple(sorted(names, key=order.index)) for names, _ in groups]

    def _solve(
        self, names: Sequence[str], taken: Sequence[Match]
    ) -> tuple[list[Match], list[Doubt], list[tuple[str, ...]]]:
        ways = list(self._list_ways(names))
        if not ways:
            return [], [], []
        weighed = sorted(
            ((worth + self._judge_joins(way, taken), k) for k, (worth, way) in enumerate(ways))
        )
        total, first = weighed[0]
        best = ways[first][1]
        near = [
            ways[k][1]
            for worth, k in weighed[1:]
            if worth - total < SURE + SURE_SHARE * max(0.0, self._far_where(best, ways[k][1]))
        ]
        own = {one.old: one for one in best}
        unsure: dict[str, dict[str, None]] = {}
        same: set[tuple[str, ...]] = set()
        for way in near:
            other = {one.old: one for one in way}
            differ = [n for n in names if own.get(n) != other.get(n)]
            nows = [{one[n].new for n in differ if n in one} for one in (own, other)]
            if self._only_swaps(differ, own, other):
                same.add(tuple(n for n in self.pattern.pieces if n in nows[0] | nows[1]))
                continue
            for name in differ:
                for one in (own.get(name), other.get(name)):
                    if one is not None:
                        unsure.setdefault(one.new, {})[name] = None
        doubts = [Doubt(now, tuple(olds)) for now, olds in unsure.items()]
        return [one for one in best if one.new not in unsure], doubts, sorted(same)

    def _far_where(self, best: _Way, other: _Way) -> float:
        """How unlike the pieces are in which one way differs from another."""
        return sum(one.laid.far for one in best if one not in other)

    def _list_ways(self, names: Sequence[str]) -> list[tuple[float, _Way]]:
        """The ways that are likest by shapes alone, each with what it is worth: less is liker."""
        best = float("inf")
        found: list[tuple[float, _Way]] = []
        order = sorted(names, key=lambda name: (self._count(name), name))
        least = [min([ALIKE, *map(self._far, self.options[name])]) for name in order]
        ahead = [*np.cumsum(least[::-1])[::-1].tolist(), 0.0]

        def go_on(k: int, worth: float, way: _Way) -> None:
            nonlocal best
            if worth + ahead[k] > best + ALIKE or len(found) > MOST_WAYS:
                return
            if k == len(order):
                best = min(best, worth)
                found.append((worth, way))
                return
            used = {one.new for one in way}
            for option in sorted(self.options[order[k]], key=self._far):
                if option.new not in used:
                    go_on(k + 1, worth + self._far(option), (*way, option))
            go_on(k + 1, worth + ALIKE, way)

        go_on(0, 0.0, ())
        return [one for one in found if one[0] <= best + ALIKE]

    def _far(self, one: Match) -> float:
        return one.laid.far - (ONE_NAME if one.old == one.new else 0.0)

    # -------------------------------------------------------------------------- congruence

    def _are_same(self, now: str, one: Laid, other: Laid) -> bool:
        """Whether a piece is the same to itself, begun at the one edge or at the other."""
        return one.old == other.old and self._congruent(now, one.new, now, other.new)

    def _only_swaps(
        self, names: Sequence[str], own: Mapping[str, Match], other: Mapping[str, Match]
    ) -> bool:
        return all(
            n in own
            and n in other
            and own[n].laid.old == other[n].laid.old
            and self._congruent(own[n].new, own[n].laid.new, other[n].new, other[n].laid.new)
            for n in names
        )

    def _congruent(
        self, a: str, first: Sequence[tuple[str, ...]], b: str, second: Sequence[tuple[str, ...]]
    ) -> bool:
        one, two = self._ordered(a, first), self._ordered(b, second)
        if one is None or two is None or one.inside != two.inside:
            return False
        marks = len(one.groups) == len(two.groups) and all(
            len(p) == len(q) and np.allclose(p, q, rtol=0.0, atol=SAME_SHARE)
            for p, q in zip(one.marks, two.marks, strict=True)
        )
        if not marks or not np.allclose(one.corners, two.corners, rtol=0.0, atol=SAME_DEG):
            return False
        if not np.allclose(one.profiles, two.profiles, rtol=0.0, atol=2.0 * SAME_DEG):
            return False
        return all(
            np.allclose(self._lengths(a, p), self._lengths(b, q), rtol=0.0, atol=SAME_MM)
            for p, q in zip(first, second, strict=True)
        )

    def _ordered(self, name: str, groups: Sequence[tuple[str, ...]]) -> Looks | None:
        """The look of a piece with its edges begun at the first of `groups`."""
        for looks in self.looks[name]:
            if set(looks.groups) == set(groups):
                return looks.begin_at(looks.groups.index(groups[0]))
        return None

    def _lengths(self, name: str, edges: tuple[str, ...]) -> Array:
        nest = self.pattern.pieces[name].nest
        return np.array([sum(nest[s].edge(e).length for e in edges) for s in self.pattern.sizes])

    # ------------------------------------------------------------------------------- joins

    @cached_property
    def _joins(self) -> tuple[tuple[Run, Run], ...]:
        """Runs that the set before joins."""
        told = self.old.relations
        found = [(one.lead, one.follow) for one in told.seams.values() if one.follow]
        found += [
            ((Span(band.piece, band.sewn, zone.begin, zone.end),), zone.run)
            for band in told.bands.values()
            for zone in band.zones
            if zone.run
        ]
        return tuple(found)

    def _judge_joins(self, way: _Way, taken: Sequence[Match]) -> float:
        """How much the lengths of what is joined speak for a way: less is more."""
        cast = {one.old: one for one in (*taken, *way)}
        mine = {one.old for one in way}
        total = 0.0
        for lead, follow in self._joins:
            spans = (*lead, *follow)
            if not any(s.piece in mine for s in spans) or not all(s.piece in cast for s in spans):
                continue
            now = [self._run_now(run, cast) for run in (lead, follow)]
            if now[0] is None or now[1] is None:
                continue
            was = [run_length(self.old.in_size(self.old.base), run) for run in (lead, follow)]
            meant = (was[1] - was[0]) / max(was[0], 1.0) * now[0]
            off = float(np.abs(now[1] - now[0] - meant).max())
            total -= SEWN * max(0.0, 1.0 - off / NOT_SEWN_MM)
        return total

    def _run_now(self, run: Run, cast: Mapping[str, Match]) -> Array | None:
        """Lengths of a run of the set before over the sizes; None where some of it is not there."""
        nests = {span.piece: self._named(cast[span.piece]) for span in run}
        try:
            return np.array([_length_in(nests, run, size) for size in self.pattern.sizes])
        except UnknownName:
            return None

    def _named(self, one: Match) -> Mapping[str, SizedPiece]:
        """The drawing of a piece by the names of the set before."""
        key = one.old, one.new, one.laid.old, one.laid.new
        if key not in self._known:
            nest, was = self.pattern.pieces[one.new].nest, self.old.pieces[one.old]
            drawing = name_drawing(nest, self.pattern.base, was, self.old.base, one.laid)
            self._known[key] = drawing.nest
        return self._known[key]


def _length_in(nests: Mapping[str, Mapping[str, SizedPiece]], run: Run, size: str) -> float:
    return run_length(lambda name: nests[name][size], run)


def _merge_sets(found: Iterable[Sequence[str]]) -> list[set[str]]:
    """The names in sets of which no two share one."""
    merged: list[set[str]] = []
    for names in found:
        apart = [one for one in merged if not one & {*names}]
        merged = [*apart, {*names}.union(*(one for one in merged if one & {*names}))]
    return merged


def _measure_area(pattern: PatternSet, name: str) -> float:
    return abs(signed_area(pattern.sized(name, pattern.base).outline))
