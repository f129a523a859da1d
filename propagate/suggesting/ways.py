"""What two runs say when one is laid along the other: notches, shapes, corners, folds."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import numpy.typing as npt

from propagate.suggesting.directions import Link
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact, say_gap
from propagate.suggesting.rows import End, Row
from propagate.suggesting.words import find_shared_word
from propagate.values import dataclass

__all__ = ["Way", "judge_kinship", "weigh_way"]

Array = npt.NDArray[np.float64]
Pair = tuple[str, str]

MEETS_MM = 1.5
"""Notches meet within the trade's walk (common practice, no source)."""
MEETING, MOST_MEETING = 1.5, 3.0
"""What it is worth that two notches meet, or two corners, and what it is worth at most."""
AT_JOINT, MOST_JOINTS = 1.6, 3
"""A notch that meets a joint tells which edge is sewn, and which way round: one is enough."""
NEARER = 0.6
"""Where it meets one either way, as where front and back armhole are nearly alike, the nearer way
comes first."""
STRAIGHT_DEG = 5.0
"""An edge whose direction varies by less is straight; its shape says nothing."""
CONGRUENT_DEG, ALIKE_DEG, STRANGE_DEG = 0.5, 4.0, 15.0
"""Shapes are the same, alike or strangers (root mean square of what directions differ by)."""
FINE_DEG, FAIR_DEG, FAR_DEG = 1.0, 3.0, 12.0
"""How far corners may be off across a seam; the trade accepts the second (common practice)."""
PLAIN_DEG = 1.5
"""Two corners of about 90 degrees fit each other and every other square corner."""
FOLD = -2.0


@dataclass(frozen=True)
class _AtJoint:
    """A mark of one run at a joint of the other: both, how near they are, and of what it is."""

    pair: Pair
    gap: float
    words: str


@dataclass(frozen=True)
class Way:
    """One of the two ways to lay the follower along the lead.

    `twisted` tells that a piece would be sewn to itself with a twist: both its edges along the
    outline make a band with one side.  Nobody sews so, whatever fits.  `stretches` is the ease up
    to each notch of the lead that meets one, in every size, and from the last to the ``end``; it
    is empty where ease is spread alike.
    """

    reversed: bool
    twisted: bool
    facts: tuple[Fact, ...]
    notches: tuple[Pair, ...]
    crossing: dict[str, Pair]
    weight: float
    stretches: tuple[tuple[str, Array], ...] = ()

    @property
    def rank(self) -> tuple[bool, float]:
        """The likelier way first, one with a twist last."""
        return self.twisted, -self.weight


def weigh_way(nest: Nest, lead: Row, follow: Row, turned: bool, said: tuple[Link, ...] = ()) -> Way:
    """Weigh one direction of the follower: notches, corners, shape, folds and neighbours."""
    notes, pairs, stretches = _judge_marks(nest, lead, follow, turned)
    shape, stacked = _judge_shapes(lead, follow, turned)
    meeting = {link.end for link in said if link.end is not None}
    others = follow.ends[::-1] if turned else follow.ends
    ends = tuple(zip(("start", "end"), lead.ends, others, strict=True))
    angles, crossing = _judge_corners(ends, stacked=stacked, chained=bool(meeting))
    own = [*notes, *shape, *angles, *_judge_folds(nest, lead.ends, others)]
    # Two pieces drawn right side up are sewn with one edge running back.
    weight = sum(fact.weight for fact in own) + (0.3 if turned else 0.0)
    return Way(
        turned,
        not turned and bool(lead.pieces & follow.pieces),
        (*own, *dict.fromkeys(link.fact for link in said)),
        pairs,
        # Where the two turn a corner together, what crosses the seam is the seam beside it.
        {end: keys for end, keys in crossing.items() if end not in meeting},
        weight + sum(link.weight for link in said),
        stretches,
    )


def _judge_marks(
    nest: Nest, lead: Row, follow: Row, turned: bool
) -> tuple[list[Fact], tuple[Pair, ...], tuple[tuple[str, Array], ...]]:
    """What the notches say, which of them meet, and the ease between them where it is not spread.

    Each meets the nearest that is free.
    """
    pairs, worst = [], 0.0
    met_at: list[tuple[str, Array, Array]] = []
    names = [name for name, _ in follow.marks]
    if lead.marks and names:
        places = np.array([place for _, place in follow.marks])
        places = follow.lengths - places if turned else places
        free = np.ones(len(names), dtype=bool)
        for name, at in lead.marks:
            gaps = np.where(free, _find_gaps(at, places, lead.lengths, follow.lengths), np.inf)
            nearest = int(gaps.argmin())
            if gaps[nearest] <= MEETS_MM:
                free[nearest] = False
                pairs.append((name, names[nearest]))
                met_at.append((name, at, places[nearest]))
                worst = max(worst, float(gaps[nearest]))
    found = []
    if pairs:
        text = ", ".join(f"{a} with {b}" for a, b in pairs)
        words = f"notches meet within {say_gap(worst)} in all sizes: {text}"
        found.append(Fact(min(MEETING * len(pairs), MOST_MEETING), words))
    corners = _count_joints_met(lead, follow, turned)
    if corners:
        words = f"both turn a corner at the same {corners} place{'s' if corners > 1 else ''}"
        found.append(Fact(min(MEETING * corners, MOST_MEETING), words))
    met = {name for pair in pairs for name in pair}
    at_joints = _find_at_joints(lead, follow, turned, met)
    if at_joints:
        words = ", ".join(
            f"{name} with the joint of {one.words}" for name, one in at_joints.items()
        )
        worst = max(one.gap for one in at_joints.values())
        weight = AT_JOINT * min(len(at_joints), MOST_JOINTS) - NEARER * worst / MEETS_MM
        found.append(Fact(weight, f"notches meet joints within {say_gap(worst)}: {words}"))
        met |= at_joints.keys()
        pairs += [one.pair for one in at_joints.values()]
    notches = {
        f"{span.piece}.{mark}"
        for span in (*lead.run, *follow.run)
        for mark in nest.edges[span.key].notches
    }
    alone = [n for row in (lead, follow) for n, _ in row.marks if n in notches and n not in met]
    if alone:
        words = f"no notch meets {', '.join(sorted(alone))}"
        found.append(Fact(max(-0.5 * len(alone), -1.5), words))
    return found, tuple(pairs), _find_stretches(met_at, lead.lengths, follow.lengths)


def _find_at_joints(
    lead: Row, follow: Row, turned: bool, met: Collection[str]
) -> dict[str, _AtJoint]:
    """Marks that lie where two pieces of the other run meet, as the notch of a band at a side."""
    found: dict[str, _AtJoint] = {}
    for one, other in ((lead, follow), (follow, lead)):
        for number, joint in enumerate(one.joints):
            at = one.lengths - joint if turned else joint
            free = [(name, place) for name, place in other.marks if name not in {*met, *found}]
            if not free:
                continue
            places = np.array([place for _, place in free])
            gaps = _find_gaps(at, places, one.lengths, other.lengths)
            nearest = int(gaps.argmin())
            if gaps[nearest] <= MEETS_MM:
                first, second = one.run[number : number + 2]
                mark, end = free[nearest][0], second.begin
                corner = (
                    f"{second.key}.{end}" if end in ("start", "end") else f"{second.piece}.{end}"
                )
                pair = (corner, mark) if one is lead else (mark, corner)
                gap = float(gaps[nearest])
                found[mark] = _AtJoint(pair, gap, f"{first.key} and {second.key}")
    return found


def _count_joints_met(lead: Row, follow: Row, turned: bool) -> int:
    """How often two spans of the one meet where two spans of the other do, in every size."""
    if not (lead.joints and follow.joints):
        return 0
    own = np.array([follow.lengths - at if turned else at for at in follow.joints])
    gaps = [_find_gaps(at, own, lead.lengths, follow.lengths).min() for at in lead.joints]
    return sum(bool(gap <= MEETS_MM) for gap in gaps)


def _find_stretches(
    met: Sequence[tuple[str, Array, Array]], length: Array, long: Array
) -> tuple[tuple[str, Array], ...]:
    """The ease up to each notch that meets one; none where it is spread along the seam."""
    if all(np.abs(there * length / long - at).max() <= MEETS_MM for _, at, there in met):
        return ()
    places = [*sorted(met, key=lambda one: float(one[1].mean())), ("end", length, long)]
    found, before = [], (np.zeros_like(length), np.zeros_like(long))
    for name, at, there in places:
        if (at < before[0]).any() or (there < before[1]).any():
            return ()  # in another order on the other run
        found.append((name, (there - before[1]) - (at - before[0])))
        before = (at, there)
    return tuple(found)


def _find_gaps(at: Array, places: Array, length: Array, long: Array) -> Array:
    """How far a mark is from each of the other run, in the size where it is farthest.

    Ease is spread along the seam, or it lies between the marks, as at the top of a sleeve cap: then
    both are as far from an end of the seam.  Common practice, no source.
    """
    spread = np.abs(places * length / long - at).max(axis=1)
    from_start = np.abs(places - at).max(axis=1)
    from_end = np.abs(long - places - (length - at)).max(axis=1)
    return np.asarray(np.minimum(spread, np.minimum(from_start, from_end)))


def _judge_shapes(lead: Row, follow: Row, turned: bool) -> tuple[list[Fact], bool]:
    """Compare the directions along two runs, as drawn and mirrored.

    Also tells whether they are congruent the way two layers are that lie on each other, so that
    their corner angles are equal; else they would be cut apart from one piece of cloth, and
    the angles add up.
    """
    a = lead.profile
    b = follow.profile[::-1] if turned else follow.profile
    bend = max(float(np.ptp(a)), float(np.ptp(b)))
    if bend < STRAIGHT_DEG:
        return [], False
    off = [float(np.sqrt(np.mean((a - sign * b) ** 2))) for sign in (1, -1)]
    best = min(off)
    if best <= CONGRUENT_DEG:
        text = f"the shapes are the same within {best:.2f}° on a bend of {bend:.0f}°"
        # Turned and mirrored, or neither: that is how layers lie on each other.
        return [Fact(2.5 if bend > 20 else 1.5, text)], turned == (off[1] < off[0])
    if best <= ALIKE_DEG:
        # On a grid of 0.1 mm the same shape is seldom the same to half a degree.
        weight = 0.5 + max(CONGRUENT_DEG + 1.0 - best, 0.0)
        return [Fact(weight, f"the bends are alike (directions differ by {best:.1f}°)")], False
    if best >= STRANGE_DEG:
        return [Fact(-1.0, f"the bends differ ({best:.0f}° along the way)")], False
    return [], False


def _judge_corners(
    ends: tuple[tuple[str, End, End], ...], *, stacked: bool, chained: bool
) -> tuple[list[Fact], dict[str, Pair]]:
    """What the corners say, and the crossing edges where the angles add up.

    `stacked` tells that the two may be layers that lie on each other: then the angles may
    be equal instead, and nothing runs on across the seam.  So it is where the two are
    `chained`, sewn to each other around a corner; there equal corners go before square ones.
    """
    corners = [
        (end, own, theirs, own.angles, theirs.angles)
        for end, own, theirs in ends
        if own.angles is not None and theirs.angles is not None
    ]
    found: list[Fact] = []
    crossing: dict[str, Pair] = {}
    apart = [float(np.abs(a - b).max()) for *_, a, b in corners]
    from_180 = [float(np.abs(a + b - 180.0).max()) for *_, a, b in corners]
    equal = (stacked or chained) and sum(apart) < sum(from_180) + (FINE_DEG if chained else 0.0)
    for (end, own, theirs, a, b), differ, off in zip(corners, apart, from_180, strict=True):
        ours, other = float(a.mean()), float(b.mean())
        sums = f"{ours:.1f}° + {other:.1f}° at the {end}"
        if equal:
            means = f"({ours:.1f}° and {other:.1f}°)"
            words = f"the corners at the {end} are equal within {differ:.1f}° {means}"
            if differ <= FINE_DEG:
                found.append(Fact(0.4 if abs(ours - 90.0) < PLAIN_DEG else 1.0, words, "corners"))
        elif off <= FAIR_DEG:
            if max(abs(ours - 90.0), abs(other - 90.0)) < PLAIN_DEG:
                found.append(Fact(0.3, f"both corners are square ({sums})", "corners"))
            else:
                words = f"the corner angles add up to 180° within {off:.1f}° ({sums})"
                found.append(Fact(1.5 if off <= FINE_DEG else 0.8, words, "corners"))
            if own.crossing and theirs.crossing:
                crossing[end] = (own.crossing, theirs.crossing)
        elif off > FAR_DEG:
            found.append(Fact(-0.4, f"the corner angles do not add up: {sums}", "corners"))
    return found, crossing


def _judge_folds(nest: Nest, own: tuple[End, End], theirs: tuple[End, End]) -> list[Fact]:
    """What folds say of two runs laid along each other: a fold meets a fold."""
    a, b = (
        [(end.crossing is not None and nest.is_fold(end.crossing)) for end in ends]
        for ends in (own, theirs)
    )
    if sum(a) != 1 or sum(b) != 1:
        return []
    if a == b:
        end = "start" if a[0] else "end"
        return [Fact(0.2, f"both come to the fold of their piece at the {end}")]
    return [Fact(FOLD, "the one comes to its fold where the other leaves its own")]


def judge_kinship(nest: Nest, lead: Row, follow: Row) -> list[Fact]:
    """What pieces, allowances and names say of two runs."""
    facts = []
    if lead.pieces & follow.pieces:
        facts.append(Fact(-2.5, "both edges are of one piece"))
    info = nest.pattern.info
    allowances = [
        info[span.piece].allowance.of(span.edge) if span.piece in info else 0.0
        for span in (*lead.run, *follow.run)
    ]
    if max(allowances) > 0.0:
        if max(allowances) - min(allowances) < 0.05:
            facts.append(Fact(0.2, f"the allowances are alike ({allowances[0]:g} mm)"))
        else:
            listed = ", ".join(f"{value:g}" for value in allowances)
            facts.append(Fact(-0.3, f"the allowances differ ({listed} mm)"))
    shared = find_shared_word(lead.run, follow.run)
    if shared:
        facts.append(Fact(0.4, f"both are called '{shared}'"))
    return facts
