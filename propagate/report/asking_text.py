"""What is asked, in words: about a proposal, which ends meet; last, what blending would go by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from propagate.counts import say_count, say_range
from propagate.engine.review.taken import run_lengths
from propagate.pattern.ease import is_eased
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, BlendMain, Run, Seam, Span
from propagate.pattern.titles import in_sentence, in_words, list_words, name_title, piece_title
from propagate.report.layout import lay_entries, wrap_sentence
from propagate.report.units import MILLIMETRES
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking, can_turn
from propagate.suggesting.blending import CROTCH, Blending
from propagate.suggesting.closing import Closing
from propagate.suggesting.side_seams import SideSeam
from propagate.values import dataclass

__all__ = [
    "Asked",
    "ASKED_ALLOWANCE",
    "ASKED_WIDTH",
    "asked_of",
    "asked_of_blending",
    "asked_of_hip",
    "closing_lines",
    "free_words",
    "question_lines",
    "say_run",
    "state_lines",
]

LETTERS = "ABCDEFGHIJKLMNOP"
"""Marks of the sides of a question, in its picture too."""
_ASKED = {
    "seam": "Are these two sewn together?",
    "mirror seam": "Is this edge sewn to its own mirrored twin, as a centre seam is?",
    "opening": "Is this edge the opening of a pocket, with this piece behind it?",
    "stack": "Do these layers lie behind the opening?",
    "band": "Is this the edge of a band, sewn to these one after the other?",
    "pocket": "Is this a pocket in the seam of A and B, with bag C sewn to both?",
    "seam opening": (
        "Does this part of the seam stay open, as for a zip, a placket or a slit, so that it keeps "
        "its length?"
    ),
}
_TWO_BAGS = "Is this a pocket in the seam of A and B, with bag C sewn to A and bag D to B?"
_NOTHING = "nothing, the zone keeps its length"
_NOT_TOLD = (
    "Nothing has to be told for blending sizes: no two pieces were found with a side seam that "
    "goes down from a waist at their upper edge, or from an underarm and lacks levels. Such a set "
    "is blended by its levels, as far as they are drawn (propagate show tells them); what else is "
    "wanted, [blend] in set.toml says."
)
"""What is said when nothing can be asked."""
_ALL_REFUSED = (
    "What blending sizes goes by is not told: no way that was found is so. [blend] in set.toml "
    "says it by hand; an answer that is taken back is asked again."
)
_PUT_OFF = "What blending sizes goes by is asked again by the next call."
_HOW_TO_SAY = (
    "What is sewn there and was not asked: propagate suggest SET --sewn "
    '"PIECE.EDGE=PIECE.EDGE+PIECE.EDGE", what is sewn on first.'
)
"""At the end, where something is sewn to nothing."""
ASKED_ALLOWANCE = (
    "No piece has a seam allowance. How wide is it all round? An edge on the fold gets none."
)
ASKED_WIDTH = (
    "No piece has a seam allowance. How wide is it all round, such as 10mm or 5/8in? An edge on "
    "the fold gets none; 0 leaves all as it is."
)
"""The last question of all."""


@dataclass(frozen=True)
class Asked:
    """A question in words.

    Attributes
    ----------
    title : str
        The pieces that it is about.
    words : str
        The question.
    sides : tuple of (str, str)
        A mark that the picture has too, and what it stands for.
    ends : tuple of str
        Of a seam, what meets what at its two ends, and its ease.
    score : float or None
        None of what is asked last.
    turns : bool
        There is another way round to sew it; of what blending goes by, another side may lead.
    other : str
        That answer in words.
    """

    title: str
    words: str
    sides: tuple[tuple[str, str], ...]
    ends: tuple[str, ...]
    evidence: tuple[str, ...]
    against: tuple[str, ...]
    score: float | None
    turns: bool
    other: str = "the other way round"


def asked_of(pattern: PatternSet, proposal: Proposal) -> Asked:
    """Put a proposal in words."""
    pieces = dict.fromkeys(span.piece for run in proposal.runs for span in run)
    titles = [in_sentence(piece_title(pattern, piece)) for piece in pieces]
    title, ends = list_words(titles), []
    for at in (0, -1) if can_turn(proposal) else ():
        first, *others = (_say_end(pattern, run[at], at, whose=True) for run in proposal.runs)
        ends.append(f"{first} meets {list_words(others)}")
    ends += _say_ease(pattern, proposal)
    return Asked(
        title[:1].upper() + title[1:],
        _TWO_BAGS
        if len(proposal.runs) == 4 and proposal.kind == "pocket"
        else _ASKED[proposal.kind],
        tuple(_say_sides(pattern, proposal)),
        tuple(ends),
        tuple(in_words(pattern, text) for text in proposal.evidence),
        tuple(in_words(pattern, text) for text in proposal.against),
        proposal.score,
        can_turn(proposal),
    )


def _say_ease(pattern: PatternSet, proposal: Proposal) -> Iterator[str]:
    """Say by how much the second side is longer on purpose, as it would be written."""
    for seam in proposal.relations:
        if not isinstance(seam, Seam) or not is_eased(seam.ease):
            continue
        apart = run_lengths(pattern, seam.follow) - run_lengths(pattern, seam.lead)
        low, high = float(apart.min()), float(apart.max())
        if low < 0.0 < high:
            yield (
                f"B is from {MILLIMETRES.said(-low)} shorter to {MILLIMETRES.said(high)} longer "
                "than A over the sizes: a yes takes that as meant"
            )
            continue
        way = "longer than A, as ease" if high > 0.0 else "shorter than A, stretched on"
        least, most = (MILLIMETRES.length(mm) for mm in sorted((abs(low), abs(high))))
        yield f"B is {say_range(least, most)} {MILLIMETRES.name} {way}"


def _say_sides(pattern: PatternSet, proposal: Proposal) -> Iterator[tuple[str, str]]:
    band = next((one for one in proposal.relations if isinstance(one, Band)), None)
    if band is not None:
        yield "A", say_run(pattern, proposal.runs[0])
        for number, zone in enumerate(band.zones, start=1):
            yield str(number), say_run(pattern, zone.run) if zone.run else _NOTHING
        return
    for letter, run in zip(LETTERS, proposal.runs, strict=False):
        yield letter, say_run(pattern, run)


def say_run(pattern: PatternSet, run: Run) -> str:
    """Say which part of which edge of which piece a run is, one after the other."""
    return ", then ".join(_say_span(pattern, span) for span in run)


def _say_span(pattern: PatternSet, span: Span, *, whose: bool = True) -> str:
    words = _say_name(pattern, span.piece, span.edge, whose=whose)
    if {span.begin, span.end} == {"start", "end"}:
        return words
    return f"{words}, from {_say_end(pattern, span, 0)} to {_say_end(pattern, span, -1)}"


def _say_end(pattern: PatternSet, span: Span, at: int, *, whose: bool = False) -> str:
    """Say an end of a span, 0 or -1, by the edge that comes to it there, or by its mark."""
    mark = span.end if at else span.begin
    if mark not in ("start", "end"):
        return _say_name(pattern, span.piece, mark, whose=whose)
    names = pattern.sized(span.piece, pattern.base).edge_names
    step = -1 if mark == "start" else 1
    beside = names[(names.index(span.edge) + step) % len(names)]
    return f"the end at {_say_name(pattern, span.piece, beside, whose=whose)}"


def _say_name(pattern: PatternSet, piece: str, name: str, *, whose: bool = True) -> str:
    """Say an edge or a mark within a sentence; `whose` adds of which piece it is."""
    of = f" of {in_sentence(piece_title(pattern, piece))}" if whose else ""
    return f"{in_sentence(name_title(pattern, name, piece))}{of}"


# ------------------------------------------------------------------------------- in a terminal


def question_lines(asked: Asked, number: int, left: int, picture: str = "") -> list[str]:
    """Lay out a question at 80 columns; what blending goes by has no score."""
    if asked.score is None:
        told = f" ({left} left)" if left else ""
        lines = ["", *wrap_sentence(f"{asked.words}{told}"), *lay_entries(asked.sides)]
        return lines + (wrap_sentence(f"picture: {picture}", 2) if picture else [])
    lines = ["", *wrap_sentence(f"{number}. {asked.title} ({left} left). {asked.words}")]
    lines += lay_entries(asked.sides)
    for text in asked.ends:
        lines += wrap_sentence(text, 5, 2)
    lines += wrap_sentence(f"+ {asked.evidence[0]}", 2, 2) if asked.evidence else []
    lines += wrap_sentence(f"- {asked.against[0]}", 2, 2) if asked.against else []
    lines += wrap_sentence(f"score {asked.score:.3f}", 2)
    lines += wrap_sentence(f"picture: {picture}", 2) if picture else []
    return lines


def state_lines(asking: Asking) -> list[str]:
    """Tell what was answered, what is left, and what is sewn to nothing yet."""
    joins = sum(one.joins and not one.closes for one in asking.answers)
    refused = sum(one.word == "no" and not one.closes for one in asking.answers)
    lines = wrap_sentence(
        f"{joins} confirmed, {refused} refused, {say_count(len(asking.open), 'question')} left."
    )
    if not asking.free:
        return [*lines, *wrap_sentence("Every edge is sewn to something.")]
    lines += wrap_sentence("Sewn to nothing yet:")
    lines += lay_entries(free_words(asking.joined, asking.free))
    return lines + wrap_sentence(_HOW_TO_SAY)


def free_words(pattern: PatternSet, free: Mapping[str, Sequence[Span]]) -> list[tuple[str, str]]:
    """Return the edges of each piece that nothing is sewn to."""
    found = []
    for piece, spans in free.items():
        edges = [_say_span(pattern, span, whose=False) for span in spans]
        found.append((piece_title(pattern, piece), "; ".join(edges)))
    return found


def asked_of_blending(pattern: PatternSet, found: Blending) -> Asked:
    """Put what blending would go by in words, as a question."""
    first, second = (in_sentence(_say_main(pattern, main)) for main in found.plan.mains)
    title = list_words([first, second])
    return Asked(
        title[:1].upper() + title[1:],
        "Last, for blending sizes: is all of this so?",
        tuple(_say_blending(pattern, found)),
        (),
        (),
        (),
        None,
        True,
        f"{second} leads",
    )


def closing_lines(closing: Closing) -> list[str]:
    """Tell why blending sizes is not prepared, where no question is left but that."""
    pattern = closing.asking.pattern
    told = pattern.relations.blend is not None or closing.confirmed is not None
    told |= len(pattern.sizes) < 2 or closing.chosen_leveling is not None
    asks = closing.asking.question is not None or closing.open or closing.side_seam is not None
    asks = asks or closing.asks_levels
    if told or asks:
        return []
    if closing.put_off:
        return wrap_sentence(_PUT_OFF)
    return wrap_sentence(_ALL_REFUSED if closing.refused else _NOT_TOLD)


def _say_main(pattern: PatternSet, main: BlendMain) -> str:
    """Say a main by its piece, or by that on which others are taped."""
    assembly = pattern.relations.assemblies.get(main.silhouette)
    return piece_title(pattern, main.silhouette if assembly is None else assembly.lead)


def _say_blending(pattern: PatternSet, found: Blending) -> Iterator[tuple[str, str]]:
    seam = pattern.relations.seams[found.plan.seam]
    sides = (seam.follow, seam.lead) if found.turned else (seam.lead, seam.follow)
    yield "side", " sewn to ".join(say_run(pattern, run) for run in sides)
    first, second = (in_sentence(_say_main(pattern, main)) for main in found.plan.mains)
    yield "leads", f"{first}: a change of it is carried to {second}"
    yield "waist", _say_edges(pattern, [(main, main.across) for main in found.plan.mains])
    yield "centre", _say_edges(pattern, [(main, main.centre) for main in found.plan.mains])
    marks = [
        f"{_say_hip(pattern, piece, mark)}, {MILLIMETRES.said(mm)} below the top of its centre"
        for piece, (mark, mm) in found.hip.items()
    ]
    if found.hip_along is not None:
        marks[:0] = [f"{MILLIMETRES.said(found.hip_along)} along the side on both, in every size"]
    elif None in (mark for mark, _ in found.hip.values()):
        marks[:0] = ["the level that is drawn"]
    yield "hip", "; ".join(marks)
    yield "below the hip", "all stays as the size of the hip has it"
    crotch = "the crotch, where the inseam meets the centre"
    where = crotch if found.lay_on == CROTCH else "the hip"
    yield "laid on", f"{where}: there the two sizes of a piece lie on each other"
    if found.knee:
        marks = [
            _say_name(pattern, piece, mark) if mark else in_sentence(piece_title(pattern, piece))
            for piece, mark in found.knee.items()
        ]
        yield "knee", f"{'; '.join(marks)}; below it a third size may give the leg"
    yield "girths", "waist and hip are twice what these pieces have"
    for piece, anchors in found.anchors.items():
        names = list_words([_say_name(pattern, piece, mark) for mark in anchors])
        yield "kept", f"{names}: as far from the end of its edge as it is"
    if found.places:
        names = list_words([in_sentence(piece_title(pattern, one.piece)) for one in found.places])
        yield "as drawn", f"{names}, in the size of the waist"


def _say_hip(pattern: PatternSet, piece: str, mark: str | None) -> str:
    """Say the place of the hip on a piece: a mark, or where its level crosses."""
    return (
        in_sentence(piece_title(pattern, piece))
        if mark is None
        else _say_name(pattern, piece, mark)
    )


def asked_of_hip(pattern: PatternSet, found: SideSeam) -> Asked:
    """Ask how far the hip lies below the waist, where no notches tell it."""
    runs = (found.seam.lead, found.seam.follow)
    shortest = f"{MILLIMETRES.said(found.shortest)} in size {found.size}, the shortest"
    sides = (
        ("side", " sewn to ".join(say_run(pattern, run) for run in runs)),
        ("length", shortest),
    )
    words = (
        "For blending sizes: how far below the waist, along the side, is the hip taken, such "
        "as 200mm or 8in? Common practice is 18 to 22 cm for adults."
    )
    return Asked("Hip", words, sides, (), (), (), None, False)


def _say_edges(pattern: PatternSet, edges: list[tuple[BlendMain, str]]) -> str:
    held = pattern.relations.assemblies
    runs = []
    for main, edge in edges:
        if main.silhouette in held:
            runs.append(say_run(pattern, held[main.silhouette].edges[edge]))
        else:
            runs.append(_say_name(pattern, main.silhouette, edge))
    return "; ".join(runs)
