"""The levels of a top that are asked about, in words and figures."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.pattern.titles import in_sentence, list_words, name_title, piece_title
from propagate.report.asking_text import Asked, say_run
from propagate.report.units import MILLIMETRES
from propagate.suggesting.side_places import SidePlace
from propagate.suggesting.tops import BUST_BELOW_MM, Lack, Leveling

__all__ = ["asked_of_lack", "asked_of_levels"]

_ASKED = (
    "Last, for blending sizes by level: a size can be given for each of these, and between two of "
    "them one goes over into the other. Is all of this so?"
)


def asked_of_levels(pattern: PatternSet, found: Leveling) -> Asked:
    """Put the levels of a top in words, as a question."""
    pieces = [in_sentence(piece_title(pattern, one)) for one in found.crossed]
    sides = [("side", _say_side(pattern, found.way.seam))]
    sides += [(one.level, "; ".join(_say_place(pattern, one))) for one in found.places]
    sides += [
        ("drawn on", f"{list_words(pieces)}, carried along the seams"),
        ("laid on", f"the {found.lay_on}: there the sizes of a piece lie on each other"),
        (
            "all others",
            "taken in the size of the level that what they are sewn to lies nearest to",
        ),
    ]
    first, second = (in_sentence(piece_title(pattern, one)) for one in found.places[0].along)
    title = list_words([first, second])
    words = title[:1].upper() + title[1:]
    return Asked(words, _ASKED, tuple(sides), (), (), (), None, False)


def _say_place(pattern: PatternSet, place: SidePlace) -> Iterator[str]:
    """Say what tells a level, then how far down the side it lies in the base size."""
    if place.how == "underarm":
        yield f"{MILLIMETRES.said(BUST_BELOW_MM)} below the underarm, where side and armhole meet"
        return
    if place.how == "notch":
        marks = [
            f"{in_sentence(name_title(pattern, mark, piece))} of "
            f"{in_sentence(piece_title(pattern, piece))}"
            for piece, mark in place.marks.items()
        ]
        yield f"{' and '.join(marks)}, which meet"
    elif place.how == "level":
        yield "the level that is drawn"
    elif place.how == "narrowest":
        yield "where the side is narrowest"
    elif place.how == "hem":
        yield "at the lower end of the side"
    else:
        yield "as far down the side as was said, in every size"
    at = pattern.sizes.index(pattern.base)
    far = sorted(float(mm[at]) for mm in place.along.values())
    low, high = (MILLIMETRES.length(mm) for mm in (far[0], far[-1]))
    down = low if low == high else f"{low} and {high}"
    yield f"{down} {MILLIMETRES.name} down the side from the underarm in size {pattern.base}"


def asked_of_lack(pattern: PatternSet, found: Lack) -> Asked:
    """Ask how far down the side a level lies, where nothing shows it."""
    sides = [("side", _say_side(pattern, found.seam))]
    if found.waist is not None:
        sides.append((found.waist.level, "; ".join(_say_place(pattern, found.waist))))
    low, high = found.span
    sides.append(("possible", f"{MILLIMETRES.said(low)} to {MILLIMETRES.said(high)}"))
    above = "underarm" if found.waist is None else "waist"
    common = found.kind == "waist" or found.waist is not None
    practice = "Common practice is 18 to 22 cm for adults. " if common else ""
    none = "it has no waist" if found.kind == "waist" else "it does not go down so far"
    words = (
        f"For blending sizes by level: how far below the {above}, along the side, is the "
        f"{found.kind} taken, such as 200mm or 8in? {practice}Say n where {none}."
    )
    return Asked(found.kind.capitalize(), words, tuple(sides), (), (), (), None, False)


def _say_side(pattern: PatternSet, seam: Seam) -> str:
    return " sewn to ".join(say_run(pattern, run) for run in (seam.lead, seam.follow))
