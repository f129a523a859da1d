"""A seam that a person says, measured as a proposal is, with the likelier way round.

For what lengths alone do not tell: a gathered cap, a band that is stretched on, a collar on three
pieces.  What is sewn on follows what it is sewn to.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import dropwhile, pairwise, product
from typing import NoReturn

import numpy as np
import numpy.typing as npt

from propagate.engine.review.taken import list_uses, sewn_together
from propagate.errors import EditError, UnknownName
from propagate.pattern.answers import Answer, reverse_run
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam, Span, parse_span
from propagate.pattern.runs import run_words
from propagate.pattern.titles import name_title, piece_title
from propagate.suggesting.accepted import list_joinings, write_comment
from propagate.suggesting.asking import Asking
from propagate.suggesting.claims import claim_spans, claims_meet
from propagate.suggesting.directions import Laid, link_neighbours
from propagate.suggesting.eases import tell_amounts, tell_stretches
from propagate.suggesting.nest import Nest, measure_nest
from propagate.suggesting.proposal import PRIOR, Proposal
from propagate.suggesting.rows import measure_run
from propagate.suggesting.seams import NOT_CERTAIN, UNCERTAIN
from propagate.suggesting.settled import Known, Settled
from propagate.suggesting.ways import FAIR_DEG, Way, weigh_way
from propagate.suggesting.words import name_run
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = ["GATHERED", "SaidSeam", "sew_runs"]

Array = npt.NDArray[np.float64]
_EXPECTED = (
    "expected what is sewn on, '=', and what it is sewn to, such as "
    "'sleeve.cap=front.armhole+back.armhole'"
)
_SPAN = re.compile(
    r"(?P<piece>[^.]+)\.(?P<edge>.+?)(?:\s+from\s+(?P<begin>\S+))?(?:\s+to\s+(?P<end>\S+))?"
    r"(?P<back>\s+reversed)?"
)
_MOST_SPANS = 8
"""Of both runs together; each may run either way."""
_JOINED, _RUNS_ON, _BROKEN = 2.0, 0.5, -20.0
"""What a joint of two spans is worth whose crossing edges are sewn, that has no corner when it is
sewn, and that is none: two spans of one piece that do not meet."""
_OUTWARDS = 0.4
"""Of two joints that are sewn, as those of an armhole, a run goes on over the shorter seam, the
shoulder, and begins at the longer (common practice, no source).  It decides nothing alone."""
GATHERED, _RATIO_MM, _STEP = 1.2, 0.5, 0.05
"""From what ratio a longer side is gathered on, within what all sizes have it, and its steps."""


@dataclass(frozen=True)
class SaidSeam:
    """A seam that was said, with what was found of it.

    Attributes
    ----------
    proposal : Proposal
        Its runs are what it is sewn to, which leads, and what is sewn on.
    lead, follow : (sizes,) array
        Lengths, mm.
    found : bool
        The directions were found; else they are as they were said.
    sure : bool
        They are clearly likelier than any other.
    turned : str
        How the other way round is said; empty where one piece is on both sides.
    asking : Asking
        All that was answered, and this.
    """

    proposal: Proposal
    lead: Array
    follow: Array
    found: bool
    sure: bool
    turned: str
    asking: Asking


def _read_sewn(pattern: PatternSet, text: str) -> tuple[Run, Run, bool]:
    """Read what is sewn on and what it is sewn to; also tells whether directions are said.

    They are where a span is reversed, or where all go from one mark to another.  Pieces and edges
    go by their names or by their titles.

    Raises
    ------
    EditError, UnknownName
    """
    sides = text.split("=")
    if len(sides) != 2 or not all(side.strip() for side in sides):
        raise EditError(f"found --sewn '{text}', {_EXPECTED}")
    follow, lead = (
        tuple(_read_span(pattern, part.strip(), text) for part in side.split("+")) for side in sides
    )
    parts = re.split("[+=]", text)
    said = any(part.split()[-1] == "reversed" for part in parts)
    return follow, lead, said or all({"from", "to"} <= set(part.split()) for part in parts)


def _read_span(pattern: PatternSet, part: str, text: str) -> Span:
    found = _SPAN.fullmatch(part)
    if found is None:
        raise EditError(f"found '{part}' in --sewn '{text}', {_EXPECTED}")
    pieces = {name: piece_title(pattern, name) for name in pattern.pieces}
    piece = _find_named("piece", found["piece"], pieces, f"set '{pattern.name}'")
    sized = pattern.sized(piece, pattern.base)
    edges = {name: name_title(pattern, name, piece) for name in sized.edge_names}
    edge = _find_named("edge", found["edge"], edges, f"piece '{piece}'")
    marks = {"start": "start", "end": "end"} | {
        mark.name: name_title(pattern, mark.name, piece)
        for mark in sized.landmarks
        if mark.edge == edge
    }
    said, where = f"{piece}.{edge}", f"edge '{edge}' of piece '{piece}'"
    for word, mark in (("from", found["begin"]), ("to", found["end"])):
        said += f" {word} {_find_named('mark', mark, marks, where)}" if mark else ""
    span = parse_span(f"{said} reversed" if found["back"] else said)
    if span.begin == span.end:
        raise EditError(
            f"found '{part}' in --sewn, which begins where it ends, expected two places of the edge"
        )
    return span


def _find_named(what: str, said: str, known: dict[str, str], where: str) -> str:
    """The name of something that goes by its name, or by the title that it alone has."""
    word = " ".join(said.split())
    if word in known:
        return word
    titled = [name for name, title in known.items() if title.casefold() == word.casefold()]
    if len(titled) == 1:
        return titled[0]
    raise UnknownName(what, word, list(known), where)


def sew_runs(asking: Asking, text: str) -> SaidSeam:
    """Measure a seam that is said: ``sleeve.cap=front.armhole+back.armhole``.

    Where no direction is said each span may run either way, and the likeliest is taken: that of
    the proposal where there is one.  Else all run as they are written in a set.

    Raises
    ------
    EditError, UnknownName
        It cannot be read, names what is not there, or what is sewn already.
    """
    follow, lead, fixed = _read_sewn(asking.joined, text)
    asked = _list_stretches(lead, follow)
    seams = [one for one in asking.answers if one.kind == "seam"]
    again = [one for one in seams if _list_stretches(*one.runs) == asked]
    before = asking.without(again)
    nest = measure_nest(before.joined)
    if len(lead) + len(follow) > _MOST_SPANS:
        raise EditError(
            f"found {len(lead) + len(follow)} edges in --sewn '{text}', expected "
            f"{_MOST_SPANS} at most; say it as several seams, from mark to mark"
        )
    _refuse_overlap(nest, (*lead, *follow))
    _refuse_sewn(nest, (*lead, *follow))
    proposed = None if fixed else _find_proposed(before, lead, follow)
    if fixed:
        tried = [(lead, follow)]
    elif proposed is not None:
        tried = [_take_order(proposed, lead)]
    else:
        tried = list(_list_directions(lead, follow))
    weighed = [_weigh(nest, *runs) for runs in tried]
    weighed.sort(key=lambda one: (one[1].twisted, -round(one[2], 6)))
    (runs, way, weight), *others = weighed
    sure = not others or others[0][1].twisted or weight - others[0][2] >= UNCERTAIN
    if proposed is not None:
        sure = NOT_CERTAIN not in proposed.against
    proposal = _as_seam(nest, runs, way)
    answer = Answer("seam", runs, "yes", proposal.relations, tuple(_comment(proposal)))
    other = [one for one in again if one.question != answer.question]
    long, own = (measure_run(nest, run).lengths for run in runs)
    return SaidSeam(
        proposal,
        long,
        own,
        not fixed,
        sure,
        _say_turned(*runs),
        asking.without(other).told([answer]),
    )


def _comment(proposal: Proposal) -> Iterator[str]:
    """What stands above it in a set: that it was said, and what was measured."""
    said = replace(proposal, facts=tuple(one for one in proposal.facts if one.weight > 0.0))
    yield "# said by a person, measured in all sizes"
    yield from dropwhile(lambda line: not line.startswith("# +"), write_comment(said))


def _say_turned(lead: Run, follow: Run) -> str:
    """How the other way round is said; empty where one piece is on both sides."""
    if {span.piece for span in lead} & {span.piece for span in follow}:
        return ""
    said = f"{run_words(follow)}={run_words(reverse_run(lead))}"
    if "reversed" not in said:
        said = f"{run_words(reverse_run(follow))}={run_words(lead)}"
    return said.replace(" + ", "+")


def _find_proposed(asking: Asking, lead: Run, follow: Run) -> Proposal | None:
    """The same seam where it is proposed: all that is known of a garment speaks for its way."""
    asked = _list_stretches(lead, follow)
    return next(
        (
            one
            for one in asking.found.proposals
            if one.kind == "seam" and _list_stretches(*one.runs) == asked
        ),
        None,
    )


def _take_order(proposed: Proposal, lead: Run) -> tuple[Run, Run]:
    """The runs of a proposal, that which was said to lead first and from the end that was said."""
    first, second = proposed.runs
    if _list_stretches(first) != _list_stretches(lead):
        first, second = second, first
    if _list_stretches(first[:1]) != _list_stretches(lead[:1]):
        first, second = reverse_run(first), reverse_run(second)
    return first, second


def _list_stretches(*runs: Run) -> frozenset[tuple[str, ...]]:
    """Which stretches some runs are made of, whatever way they run."""
    return frozenset(
        tuple(sorted(min(str(span), str(reverse_run((span,))[0])) for span in run)) for run in runs
    )


def _refuse_overlap(nest: Nest, spans: Run) -> None:
    for number, span in enumerate(spans):
        for other in spans[:number]:
            if claims_meet(claim_spans(nest, [span]), claim_spans(nest, [other])):
                raise EditError(
                    f"'{span}' and '{other}' are one edge, or a part of one, which cannot be sewn "
                    "to itself; name another edge, or two parts by 'from MARK to MARK'"
                )


def _refuse_sewn(nest: Nest, spans: Run) -> None:
    uses = list_uses(nest.pattern)
    for span in spans:
        for use in uses.get(span.key, ()):
            if use.kind not in ("seam", "band", "fold"):
                continue
            if claims_meet(claim_spans(nest, [span]), claim_spans(nest, [use.span])):
                _refuse_taken(span, use.kind, use.relation)


def _refuse_taken(span: Span, kind: str, relation: str) -> NoReturn:
    if kind == "fold":
        raise EditError(f"'{span}' lies on the {relation}, where nothing is sewn")
    raise EditError(
        f"'{span}' is sewn already, by {relation}; take that back first (u, undo, with --ask, or "
        "out of set.toml), or say which part is meant by 'from MARK to MARK'"
    )


def _list_directions(lead: Run, follow: Run) -> Iterator[tuple[Run, Run]]:
    """Every way in which the spans may run, one after the other as they were said.

    Of two single edges that both turn it is the same seam, from its other end.
    """
    spans = (*lead, *follow)
    for turns in product((False, True), repeat=len(spans)):
        if len(spans) == 2 and turns[0]:
            continue
        turned = [
            reverse_run((span,))[0] if turn else span
            for span, turn in zip(spans, turns, strict=True)
        ]
        yield tuple(turned[: len(lead)]), tuple(turned[len(lead) :])


def _weigh(nest: Nest, lead: Run, follow: Run) -> tuple[tuple[Run, Run], Way, float]:
    """Weigh two runs laid on each other from their starts, and the joints within them."""
    # Rows run along their outlines; the way between them is what is weighed.
    turned = _runs_back(nest, lead[0]) != _runs_back(nest, follow[0])
    row, other = (
        measure_run(nest, lead),
        measure_run(nest, reverse_run(follow) if turned else follow),
    )
    way = weigh_way(nest, row, other, turned)
    if len(lead) == len(follow) == 1 and not _runs_back(nest, lead[0]):
        laid = Laid(lead, other.run, {turned: way.weight, not turned: 0.0}, 0.0)
        settled = Settled(nest, Known(tuple(list_joinings(nest.pattern))))
        said = link_neighbours(nest, [laid, *settled.laid])[0]
        way = weigh_way(nest, row, other, turned, said[turned])
    joints = sum(_weigh_joint(nest, a, b) for run in (lead, follow) for a, b in pairwise(run))
    return (lead, follow), way, way.weight + joints


def _runs_back(nest: Nest, span: Span) -> bool:
    edge = nest.edges[span.key]
    return bool(edge.place(span.begin)[nest.base] > edge.place(span.end)[nest.base])


def _weigh_joint(nest: Nest, first: Span, second: Span) -> float:
    """What speaks for it that a span runs on into another."""
    if first.piece == second.piece:
        ends = nest.end_of(first, at_begin=False), nest.end_of(second, at_begin=True)
        return 0.0 if ends[0] == ends[1] else _BROKEN
    own, other = measure_run(nest, (first,)).ends[1], measure_run(nest, (second,)).ends[0]
    if own.angles is None or other.angles is None or not own.crossing or not other.crossing:
        return 0.0
    smooth = float(np.abs(own.angles + other.angles - 180.0).max()) <= FAIR_DEG
    worth = _RUNS_ON if smooth else 0.0
    if sewn_together(nest.pattern, own.crossing, other.crossing):
        worth += _JOINED
        # The far ends may be sewn as well, as those of an armhole are: it is one ring.
        far = measure_run(nest, (first,)).ends[0], measure_run(nest, (second,)).ends[1]
        if far[0].crossing and far[1].crossing:
            long = nest.edges[far[0].crossing].lengths[nest.base]
            worth += _OUTWARDS if long > nest.edges[own.crossing].lengths[nest.base] else 0.0
    return worth


def _as_seam(nest: Nest, runs: tuple[Run, Run], way: Way) -> Proposal:
    lead, follow = runs
    long, own = (measure_run(nest, run).lengths for run in runs)
    name = f"{name_run(follow)}_to_{name_run(lead)}"
    seam = Seam(
        name,
        lead,
        follow,
        ease=_tell_ease(nest, own - long, long, way),
        notches=way.notches,
        crossing=way.crossing,
    )
    claims = claim_spans(nest, (*lead, *follow))
    return Proposal("seam", name, runs, PRIOR, way.facts, (seam,), claims)


def _tell_ease(nest: Nest, differ: Array, long: Array, way: Way) -> EaseSaid:
    """What the one side is longer by on purpose: nothing, a ratio, or amounts."""
    if float(np.abs(differ).max()) <= WALK_MM:
        return 0.0
    stretches = tell_stretches(nest, way)
    if stretches is not None:
        return stretches
    ratio = round(float(np.median(1.0 + differ / long)) / _STEP) * _STEP
    if ratio >= GATHERED and float(np.abs(long * (ratio - 1.0) - differ).max()) <= _RATIO_MM:
        return Ease(gathers=round(ratio, 2))
    return tell_amounts(nest, differ)
