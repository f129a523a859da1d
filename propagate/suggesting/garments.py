"""Recognise kinds of garment: which piece has which role, by shapes and by lengths that fit.

A search over the roles in turn, branch and bound: a piece takes a role when it looks like it and a
join with the pieces before it fits; of all ways that can be the best one is kept, and whatever is
as good.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

import numpy as np

from propagate.pattern.answers import Question
from propagate.pattern.garments import GarmentKind, Join, KnownRole, Role
from propagate.suggesting.copies import Likeness, find_likenesses
from propagate.suggesting.fits import Fit, add_lengths, fit_join, list_runs
from propagate.suggesting.nest import Nest
from propagate.suggesting.roles import Cast, Sides, list_casts
from propagate.values import dataclass

__all__ = ["Garment", "find_garments"]

MOST_STEPS = 20_000
"""Of the search for one kind; beyond it is told that not all was tried."""
NEAR, MOST_WEIGHED = 2.0, 128
"""Ways that are worth so much less by their lengths are weighed by all that is measured too."""
MARGIN = 1.5
"""What weighs less than this more is not sure (log-odds)."""
ENOUGH = 2
"""So many seams of a kind have to fit, if it has as many, before edges are called as it does."""
HINT, SQUARE_DEG, GRAIN_DEG = 1.6, 2.5, 3.0
"""What a hint weighs: a fold is square to what it ends at, and lies along the grain."""


@dataclass(frozen=True)
class Garment:
    """A kind of garment that was recognised.

    Attributes
    ----------
    kind : GarmentKind
    cast : mapping of role name to Cast
    fits : tuple of Fit
    others : tuple of tuples of Fit
        The fits of other ways that are as good.
    worth : float
    cut_short : bool
        Not every way was tried.
    """

    kind: GarmentKind
    cast: Mapping[str, Cast]
    fits: tuple[Fit, ...]
    others: tuple[tuple[Fit, ...], ...]
    worth: float
    cut_short: bool

    @property
    def pieces(self) -> frozenset[str]:
        """The pieces that have a role."""
        return frozenset(cast.piece for cast in self.cast.values())

    @property
    def is_supported(self) -> bool:
        """Whether enough of its seams fit that its words may be used.

        One pair of edges as long as each other is found in most sets: a shirt's side is a trouser's
        inseam.  Pieces that the kind sews by one seam alone have no more to show.
        """
        known = {join.name for join in self.kind.joins if join.follow and self._has_edges(join)}
        told = (fit for fit in self.fits if not fit.gathered)
        found = sum(bool(fit.follow) and not fit.join.perhaps for fit in told)
        return found >= min(ENOUGH, len(known))

    def _has_edges(self, join: Join) -> bool:
        spans = (*join.lead, *join.follow)
        return all(s.piece in self.cast and s.edge in self.cast[s.piece].sides for s in spans)

    def rests_on(self, questions: Collection[Question]) -> bool:
        """Whether it, or what it could be instead, has a seam that one of these asks about."""
        return any(fit.question in questions for fits in (self.fits, *self.others) for fit in fits)


def find_garments(
    nest: Nest,
    kinds: Iterable[GarmentKind],
    pieces: Sequence[str],
    weigh: Callable[[Fit], float],
    copies: Mapping[str, Likeness] | None = None,
    refused: Collection[Question] = (),
) -> tuple[Garment, ...]:
    """Recognise garments among pieces, the most telling first; a piece has one role.

    Of `copies`, pieces that are another one again, one may have the role that says so.

    A lining is as often as not the same kind again.  A particular set goes before all kinds.
    `weigh` tells all that is measured of a join, for the ways alone that fit best by lengths.
    What is `refused` fits nothing, so that a piece that had its role by that is tried in others.
    """
    sides, left, found = Sides(nest), list(pieces), list[Garment]()
    waiting = list(kinds)
    seen: dict[int, Garment | None] = {}  # by the place of the kind among those given
    fresh: set[int] = set()
    while left:
        for k, kind in enumerate(waiting):
            known = seen.get(k)
            # Fewer pieces are worth no more: only what lost one of its own is looked for again.
            if k not in seen or (known is not None and not known.pieces <= {*left}):
                seen[k] = _Search(nest, sides, kind, left, copies or {}, refused).best(weigh)
                fresh.add(k)
        recognised = [(one, k) for k, one in seen.items() if one is not None]
        if not recognised:
            break
        best, k = max(recognised, key=lambda one: (one[0].kind.origin == "set", one[0].worth))
        if k not in fresh:  # what else it could be made of may be gone
            seen[k] = _Search(nest, sides, best.kind, left, copies or {}, refused).best(weigh)
            fresh.add(k)
            continue
        found.append(best)
        fresh.clear()
        if best.kind.origin == "set":  # a set is one garment
            seen[k] = None
        left = [piece for piece in left if piece not in best.pieces]
    return tuple(found)


class _Search:
    def __init__(
        self,
        nest: Nest,
        sides: Sides,
        kind: GarmentKind,
        pieces: Sequence[str],
        copies: Mapping[str, Likeness],
        refused: Collection[Question],
    ) -> None:
        self._refused = refused
        self._nest, self._sides, self._kind, self._copies = nest, sides, kind, copies
        told = {role.known.piece for role in kind.roles if role.known is not None}
        free = [piece for piece in pieces if piece not in told]
        self._known = {
            role.name: [one for piece in free for one in _list_options(nest, sides, piece, role)]
            if role.known is None
            else [_cast_known(sides, role.known)] * (role.known.piece in pieces)
            for role in kind.roles
            if role.again is None
        }
        place = {role.name: k for k, role in enumerate(kind.roles)}
        self._due: list[list[Join]] = [[] for _ in kind.roles]
        for join in kind.joins:
            self._due[max(place[span.piece] for span in (*join.lead, *join.follow))].append(join)
        last = {join.name: k for k, due in enumerate(self._due) for join in due}
        self._must = {join.name: last[join.name] for join in kind.joins if join.must}
        most = [sum(0.5 if join.mirror else 3.0 for join in due) for due in self._due]
        self._most = np.cumsum(most[::-1])[::-1]
        self._order = {join: k for k, join in enumerate(kind.joins)}
        self._roles_of = {
            join: tuple({span.piece: None for span in (*join.lead, *join.follow)})
            for join in kind.joins
        }
        # Casts live as long as the search does, so that each is known by its identity.
        self._fitted: dict[tuple[int, ...], Fit | None] = {}
        self._copied: dict[tuple[int, str], Cast] = {}
        # Of one that a seam with a later role has to join, such as a sleeve without marks on the
        # armhole, nothing is asked before.
        self._joined = [
            any(len(self._roles_of[join]) > 1 for join in due)
            and not any(
                join.must and kind.roles[k].name in self._roles_of[join] and last[join.name] > k
                for join in kind.joins
            )
            for k, due in enumerate(self._due)
        ]
        self._steps = 0
        self._found: list[tuple[float, dict[str, Cast], dict[str, Fit]]] = []
        self._top = 0.0

    def best(self, weigh: Callable[[Fit], float]) -> Garment | None:
        """The best way, if there is one in which anything fits."""
        if any(not self._known.get(r.name) and not r.optional for r in self._kind.roles):
            return None
        self._go_on(0, {}, {}, 0.0)
        if not self._found:
            return None
        near = [one for one in self._found if one[0] > self._top - NEAR]
        near = sorted(near, key=lambda one: -one[0])[:MOST_WEIGHED]
        weighed = [
            (self._weigh_hints(cast) + sum(weigh(fit) for fit in fits.values()), worth, cast, fits)
            for worth, cast, fits in near
        ]
        total, worth, cast, fits = max(weighed, key=lambda one: one[0])
        others = [
            tuple(also.values())
            for value, _, _, also in weighed
            if also is not fits and value > total - MARGIN
        ]
        others += self._one_otherwise(cast, weigh, total - MARGIN)
        short = self._steps >= MOST_STEPS
        return Garment(self._kind, cast, tuple(fits.values()), tuple(others), worth, short)

    def _one_otherwise(
        self, cast: Mapping[str, Cast], weigh: Callable[[Fit], float], least: float
    ) -> list[tuple[Fit, ...]]:
        """The ways that differ in one piece alone, and weigh more than the least."""
        found = []
        taken = {one.piece for one in cast.values()}
        for name, own in cast.items():
            for option in self._list_options(self._kind.role(name), cast):
                if option == own or (option.piece in taken and option.piece != own.piece):
                    continue
                now = self._follow_copies({**cast, name: option}, name)
                fits: dict[str, Fit] = {}
                for k in range(len(self._due)):
                    fits |= self._fit_joins(k, now, fits)
                if self._weigh_hints(now) + sum(weigh(fit) for fit in fits.values()) > least:
                    found.append(tuple(fits.values()))
        return found

    def _follow_copies(self, cast: dict[str, Cast], name: str) -> dict[str, Cast]:
        """A cast in which a role was changed: what is a copy of it lies as it does."""
        for role in self._kind.roles:
            if role.again == name and role.name in cast:
                own = cast[role.name].piece
                again = (one for one in self._list_options(role, cast) if one.piece == own)
                cast[role.name] = next(again, cast[role.name])
        return cast

    def _go_on(self, k: int, cast: dict[str, Cast], fits: dict[str, Fit], worth: float) -> None:
        if any(last < k and name not in fits for name, last in self._must.items()):
            return
        if k == len(self._kind.roles):
            if worth > 0.0:
                worth += self._weigh_hints(cast)
                self._found.append((worth, dict(cast), dict(fits)))
                self._top = max(self._top, worth)
            return
        hints = HINT * (len(self._kind.longer) + 2 * len(self._kind.roles))
        if worth + self._most[k] + hints < self._top - NEAR or self._steps >= MOST_STEPS:
            return
        role = self._kind.roles[k]
        taken = {one.piece for one in cast.values()}
        for option in self._list_options(role, cast):
            if option.piece in taken:
                continue
            self._steps += 1
            now = {**cast, role.name: option}
            more = self._fit_joins(k, now, fits)
            joined = any(
                one.follow and (len(one.pieces) > 1 or not one.join.perhaps)
                for one in more.values()
            )
            if k and not joined and self._joined[k]:
                continue
            together = {**fits, **more}
            self._go_on(k + 1, now, together, sum(one.worth for one in together.values()))
        if role.optional:
            self._go_on(k + 1, cast, fits, worth)

    def _list_options(self, role: Role, cast: Mapping[str, Cast]) -> list[Cast]:
        """What may have a role, where others have theirs."""
        if role.again is None:
            return self._known[role.name]
        first = cast.get(role.again)
        if first is None:
            return []
        found = []
        for like in self._copies.values():
            if like.piece == first.piece:
                key = id(first), like.of
                if key not in self._copied:
                    self._copied[key] = _cast_copy(self._sides, first, like)
                found.append(self._copied[key])
        return found

    def _weigh_hints(self, cast: Mapping[str, Cast]) -> float:
        """What is as long as it mostly is tells pieces apart that are alike in all else."""
        found, off = 0, 0.0
        for long, short in self._kind.longer:
            a, b = (list_runs(self._nest, run, cast) for run in (long, short))
            if a and b and (add_lengths(self._nest, a[0]) > add_lengths(self._nest, b[0])).all():
                found += 1
        for role in self._kind.roles:
            own = cast.get(role.name)
            if own is None:
                continue
            folds = [own.sides[edge] for edge in role.fold & own.sides.keys()]
            found += any(self._is_square(own.piece, side.edges) for side in folds)
            found += any(side.lean <= GRAIN_DEG for side in folds)
            if self._kind.origin == "set":
                # How far it is from a piece of a particular set, by the shares of its edges.
                told = [(own.sides[edge].share, shape.share) for edge, shape in role.edges.items()]
                far = [abs(2 * x - r[0] - r[1]) / (r[1] - r[0]) for x, r in told if r is not None]
                off += 2.0 * max(far, default=0.0)
        return HINT * (found - off)

    def _is_square(self, piece: str, edges: tuple[str, ...]) -> bool:
        """A fold leaves the outline squarely at both ends, else the open piece would peak."""
        start = self._nest.off_square(piece, edges[0], at_start=True)
        end = self._nest.off_square(piece, edges[-1], at_start=False)
        return max(start, end) <= SQUARE_DEG

    def _fit_joins(
        self, k: int, cast: Mapping[str, Cast], known: Mapping[str, Fit]
    ) -> dict[str, Fit]:
        """The joins that fit, of those that the k-th role completes."""
        found: dict[str, Fit] = {}
        for join in self._due[k]:
            before = found.get(join.name, known.get(join.name))
            if before is None or self._order[join] < self._order[before.join]:
                fit = self._fit_join(join, cast)
                if fit is not None:
                    found[join.name] = fit
        return found

    def _fit_join(self, join: Join, cast: Mapping[str, Cast]) -> Fit | None:
        """A join of the pieces in its roles, which is looked at once for all ways."""
        own = [cast.get(name) for name in self._roles_of[join]]
        if None in own:
            return None
        key = (self._order[join], *map(id, own))
        if key not in self._fitted:
            fit = fit_join(self._nest, join, cast)
            held = fit is not None and (not self._refused or fit.question not in self._refused)
            self._fitted[key] = fit if held else None
        return self._fitted[key]


def _list_options(nest: Nest, sides: Sides, piece: str, role: Role) -> list[Cast]:
    """The ways in which a piece may have a role, less those that are the same to it."""
    alike = find_likenesses(nest, piece, piece)
    found: list[Cast] = []
    seen: set[tuple[tuple[tuple[str, ...], ...], bool]] = set()
    for cast in list_casts(nest, sides, piece, role):
        drawn = tuple(side.edges for side in cast.sides.values())
        if (drawn, cast.turned) in seen:
            continue
        found.append(cast)
        for like in alike:
            edges = tuple(tuple(like.edges[e] for e in names) for names in drawn)
            if all(len(names) == 1 for names in edges):
                seen.add((edges, cast.turned != like.mirrored))
    return found


def _cast_known(sides: Sides, known: KnownRole) -> Cast:
    """The piece that is known to have a role."""
    drawn = {edge: sides.of(known.piece, names) for edge, names in known.sides.items()}
    return Cast(known.piece, drawn, known.turned)


def _cast_copy(sides: Sides, first: Cast, like: Likeness) -> Cast:
    """The copy of a piece in the same role."""
    own = {edge: name for name, edge in like.edges.items()}
    drawn = {}
    for edge, side in first.sides.items():
        names = tuple(own[name] for name in side.edges)
        drawn[edge] = sides.of(like.of, names[::-1] if like.mirrored else names)
    return Cast(like.of, drawn, first.turned != like.mirrored)
