"""What is gathered on, and what else of a garment is asked about and never written unasked.

Judged by the relations that the drafts were written with; measures are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.walk import walk
from propagate.io.garments import known_kinds
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Run, Seam, parse_run
from propagate.pattern.validate import find_problems
from propagate.suggesting.asking import Asking
from propagate.suggesting.proposal import SEWN, UNSURE, Proposal
from tests.bench.suggest import drawn
from tests.suggesting.garment_drafts import (
    SIZES,
    curve,
    length,
    line,
    outline,
    seam,
    set_of,
    solved,
    strip,
)

KINDS = tuple(known_kinds())


def _draft_leg(k: int) -> dict[str, SizedPiece]:
    """Half a pyjama: front and back cut as one, and a casing for all of its waist."""
    wide, rise, low = 230.0 + 12 * k + k * k, 290.0 + 8 * k, -1050.0 - 18 * k
    fore, hind = wide + 55 + 3 * k, -wide - 120 - 5 * k
    hem, far = 180.0 + 5 * k, -205.0 - 5 * k
    front = curve((hem, low), (hem + 5, low * 0.7), (fore - 15, -rise - 90), (fore, -rise))

    def back(y: float) -> np.ndarray:
        return curve((hind, -rise - 6), (hind + 22, -rise - 95), (far - 4, low * 0.7), (far, y))

    y = solved(lambda y: -length(back(y)), -length(front), low - 60, low + 90)
    waist = line((wide - 8, 0.0), (25 - wide, 35.0))
    leg = {
        "hem": line((far, y), (hem, low)),
        "inside_front": front,
        "fork": curve((fore, -rise), (wide, -rise), (wide, -rise + 60), (wide - 8, 0.0)),
        "top": waist,
        "seat": curve((25 - wide, 35.0), (-wide, -rise + 60), (-wide, -rise), (hind, -rise - 6)),
        "inside_back": back(y),
    }
    return {"leg": outline(leg), "casing": strip(2 * length(waist), 70.0)}


def _one_leg() -> PatternSet:
    seams = [
        seam("inseam", ["leg.inside_front"], ["leg.inside_back reversed"]),
        seam("casing", ["leg.top reversed", "leg.top"], ["casing.sewn"]),
        Seam("centre_front", parse_run(["leg.fork"]), (), mirror=True),
        Seam("centre_back", parse_run(["leg.seat"]), (), mirror=True),
    ]
    return set_of("one leg", [_draft_leg(k) for k in range(len(SIZES))], seams)


def _raglan_with_collar() -> PatternSet:
    """A raglan top with half a stand collar: as long as the necks of back, sleeve and front."""
    real = drawn("tarn_raglan")
    nest = {}
    for size in real.sizes:
        necks = (real.sized(p, size).edge("neck").points for p in ("back", "sleeve", "front"))
        long = sum(map(length, necks))
        nest[size] = outline(
            {
                "neck": line((0.0, 0.0), (long, 0.0)),
                "end": line((long, 0.0), (long - 15, 50.0)),
                "rim": line((long - 15, 50.0), (0.0, 52.0)),
                "middle": line((0.0, 52.0), (0.0, 0.0)),
            },
            (1.0, 0.0),
        )
    kept = {piece: real.pieces[piece] for piece in ("front", "back", "sleeve")}
    info = {piece: real.info[piece] for piece in kept}
    neck = ["back.neck reversed", "sleeve.neck reversed", "front.neck reversed"]
    known = ("side", "front_raglan", "back_raglan", "underarm")
    seams = {name: real.relations.seams[name] for name in known}
    return replace(
        real,
        pieces={**kept, "collar": Piece("collar", nest)},
        info={**info, "collar": PieceInfo("collar", fold="middle")},
        relations=Relations(seams={**seams, "collar": seam("collar", neck, ["collar.neck"])}),
    )


def _sleeve_alone() -> PatternSet:
    """The two parts of a sleeve, of a garment whose other pieces are not there."""
    real = drawn("heath_coat")
    names = ("top_sleeve", "under_sleeve")
    seams = {name: real.relations.seams[name] for name in ("hind_seam", "fore_seam")}
    return replace(
        real,
        pieces={name: real.pieces[name] for name in names},
        info={name: real.info[name] for name in names},
        relations=Relations(seams=seams),
    )


def _enlarge(sized: SizedPiece, times: float) -> SizedPiece:
    """A piece so many times as large, without marks."""
    edges = tuple(replace(edge, points=edge.points * times) for edge in sized.edges)
    return replace(sized, edges=edges, landmarks=())


def _edges(*runs: Run) -> set[str]:
    return {span.key for run in runs for span in run}


def _find(found: tuple[Proposal, ...], true: Seam) -> Proposal:
    wanted = _edges(true.lead, true.follow)
    kind = "mirror seam" if true.mirror else "seam"
    return next(one for one in found if one.kind == kind and one.edges == wanted)


def _ask(true: PatternSet, names: tuple[str, ...]) -> PatternSet:
    """Ask about a set without relations: each of the named seams is asked, and sews."""
    asking = Asking.begin(replace(true, relations=Relations()), kinds=KINDS)
    for name in names:
        one = _find(tuple(asking.found.proposals), true.relations.seams[name])
        assert 0.5 < one.score <= UNSURE < SEWN
    wanted = [_edges(one.lead, one.follow) for one in true.relations.seams.values()]
    while asking.question is not None:
        yes = asking.question.edges in wanted
        asking = asking.answered("yes" if yes else "no")
    joined = asking.joined
    found = [_edges(one.lead, one.follow) for one in joined.relations.seams.values()]
    for name in names:
        one = true.relations.seams[name]
        assert _edges(one.lead, one.follow) in found
    assert find_problems(joined) == ()
    for size in joined.sizes:
        assert walk(joined, size, cut_lines=False).sews
    return joined


def test_a_puffed_sleeve_is_asked_with_its_ratio() -> None:
    """The draft has its cap 1.45 times as long as the armhole, in every size."""
    true = drawn("lintel_dress")
    asking = Asking.begin(replace(true, relations=Relations()), kinds=KINDS)
    armhole = _find(tuple(asking.found.proposals), true.relations.seams["armhole"])
    assert any("gathered: 1.45 times as long" in words for words in armhole.evidence)
    _ask(true, ("armhole", "underarm"))


def test_gathers_are_about_the_same_in_every_size() -> None:
    """A cap that grows on its own is no gathered one."""
    true = drawn("lintel_dress")
    sizes = true.pieces["sleeve"].nest.items()
    nest = {size: _enlarge(sized, 1.0 + 0.08 * k) for k, (size, sized) in enumerate(sizes)}
    grown = replace(
        true, pieces={**true.pieces, "sleeve": Piece("sleeve", nest)}, relations=Relations()
    )
    found = Asking.begin(grown, kinds=KINDS).found.proposals
    wanted = {"front.armhole", "back.armhole", "sleeve.cap"}
    assert not any(one.edges == wanted for one in found)


@pytest.mark.parametrize(
    ("make", "names"),
    [
        (_one_leg, ("inseam", "casing", "centre_front", "centre_back")),
        (_raglan_with_collar, ("collar",)),
    ],
)
def test_what_little_else_tells_is_asked(make: object, names: tuple[str, ...]) -> None:
    _ask(make(), names)  # type: ignore[operator]


def test_a_sleeve_in_two_parts_is_known_without_its_garment() -> None:
    """The top sleeve is some mm longer than the under sleeve, which is eased in at the elbow."""
    real = _sleeve_alone()
    nest = {size: _enlarge(one, 1.008) for size, one in real.pieces["top_sleeve"].nest.items()}
    true = replace(real, pieces={**real.pieces, "top_sleeve": Piece("top_sleeve", nest)})
    long, short = (true.sized(p, true.base).edge("hind_seam").points for p in true.pieces)
    assert 2.0 < length(long) - length(short) < 6.0
    found = Asking.begin(replace(true, relations=Relations()), kinds=KINDS).found
    assert [one.kind.name for one in found.garments] == ["a sleeve in two parts"]
    _ask(true, ("hind_seam", "fore_seam"))
