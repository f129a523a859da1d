"""Sound drafts of what is carried, sat on or worn on the head: bag, cushion, sun hat."""

from __future__ import annotations

import numpy as np

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import (
    Allowance,
    PieceInfo,
)
from tests.review.drafting import (
    arc,
    by_name,
    drafted,
    length,
    line,
    marked,
    nest,
    seam,
    strip,
)

CANVAS = "canvas"


def tote_bag() -> PatternSet:
    """A bag in one size: one gusset runs round three sides of two bodies that are alike."""
    size = ("one size",)

    def body(_: str) -> SizedPiece:
        return drafted(
            ("left", line((-190, 380), (-175, 0))),
            ("bottom", line((-175, 0), (175, 0))),
            ("right", line((175, 0), (190, 380))),
            ("top", line((190, 380), (-190, 380))),
            grain=((0, 40), (0, 340)),
        )

    side = body("").edge("left").length

    def gusset(_: str) -> SizedPiece:
        marks = (("corner_left", side), ("corner_right", side + 350.0))
        return strip(2 * side + 350.0, 120.0, ("one_side", "end", "other_side", "start"), *marks)

    def handle(_: str) -> SizedPiece:
        return strip(620.0, 100.0, ("long_edge", "end", "other_edge", "start"))

    run = ["body.left", "body.bottom", "body.right"]
    return PatternSet(
        "market bag", size, "one size", "",
        pieces={
            "body": nest("body", size, body, (33.0, 10.0, 10.0)),
            "gusset": nest("gusset", size, gusset, (90.0, 0.0, 0.0)),
            "handle": nest("handle", size, handle),
        },
        info={
            "body": PieceInfo("Body", 2, False, CANVAS, Allowance(
                12.0, {"top": 50.0}, frozenset({"top"})
            )),
            "gusset": PieceInfo("Gusset", 1, False, CANVAS, Allowance(
                12.0, {"end": 50.0, "start": 50.0}
            )),
            "handle": PieceInfo("Handle", 2, False, CANVAS, Allowance(12.0)),
        },
        relations=Relations(seams=by_name(
            seam("front_body", run, "gusset.one_side"),
            seam("back_body", run, "gusset.other_side"),
        )),
    )  # fmt: skip


def cushion() -> PatternSet:
    """A cushion in three sizes that grow by a fifth and a quarter; the zip lies low in the back."""
    sizes = ("40", "50", "60")

    def square(z: str) -> SizedPiece:
        a = 10.0 * float(z)
        return drafted(
            ("bottom", line((0, 0), (a, 0))), ("right", line((a, 0), (a, a))),
            ("top", line((a, a), (0, a))), ("left", line((0, a), (0, 0))),
            grain=((a / 2, 50), (a / 2, a - 50)),
        )  # fmt: skip

    def part(z: str, high: float, upper: str, lower: str) -> SizedPiece:
        a = 10.0 * float(z)
        return drafted(
            (lower, line((0, 0), (a, 0))), ("right", line((a, 0), (a, high))),
            (upper, line((a, high), (0, high))), ("left", line((0, high), (0, 0))),
            grain=((a / 2, 10), (a / 2, high - 10)),
        )  # fmt: skip

    def top(z: str) -> SizedPiece:
        return part(z, 10.0 * float(z) - 80.0, "top", "zip_edge")

    def low(z: str) -> SizedPiece:
        return part(z, 80.0, "zip_edge", "bottom")

    relations = Relations(seams=by_name(
        seam("zip_seam", "back_top.zip_edge", "back_low.zip_edge reversed"),
        seam("top_seam", "panel.top", "back_top.top reversed"),
        seam("bottom_seam", "panel.bottom", "back_low.bottom reversed"),
        seam("left_seam", "panel.left", ["back_top.right reversed", "back_low.right reversed"]),
        seam("right_seam", "panel.right", ["back_low.left reversed", "back_top.left reversed"]),
    ))  # fmt: skip
    return PatternSet(
        "cushion", sizes, "50", "",
        pieces={
            "panel": nest("panel", sizes, square, (90.0, 0.0, 0.0)),
            "back_top": nest("back_top", sizes, top, (45.0, 900.0, 0.0)),
            "back_low": nest("back_low", sizes, low, (0.0, 0.0, -300.0)),
        },
        info={
            "panel": PieceInfo("Front", 1, False, "linen", Allowance(15.0)),
            "back_top": PieceInfo("Back, upper", 1, False, "linen", Allowance(
                15.0, {"zip_edge": 25.0}
            )),
            "back_low": PieceInfo("Back, lower", 1, False, "linen", Allowance(
                15.0, {"zip_edge": 25.0}
            )),
        },
        relations=relations,
    )  # fmt: skip


def hat() -> PatternSet:
    """A sun hat in two sizes: a round top in quarters, a side strip, a brim of two halves."""
    sizes = ("56", "60")
    radius = {z: 10.0 * float(z) / (2 * np.pi) for z in sizes}
    around = {z: 2 * length(arc(radius[z] + 8.0, 0, 180)) for z in sizes}

    def top(z: str) -> SizedPiece:
        # A disc a little smaller than the brim's hole; the side strip is as long as each.
        r = around[z] / (4 * length(arc(1000.0, 0, 90))) * 1000.0
        quarters = [arc(r, 90.0 * i, 90.0 * (i + 1)) for i in range(4)]
        names = ("right_back", "left_back", "left_front", "right_front")
        return drafted(*zip(names, quarters, strict=True), grain=((0, -50), (0, 50)))

    def side(z: str) -> SizedPiece:
        q = around[z] / 4
        marks = tuple((n, q * (i + 1)) for i, n in enumerate(("right", "front", "left")))
        found = strip(around[z], 85.0, ("upper", "end", "lower", "start"), *marks)
        return marked(found, middle=("lower", 2 * q))

    def brim(z: str) -> SizedPiece:
        inner, outer = arc(radius[z] + 8.0, 180, 0), arc(radius[z] + 78.0, 0, 180)
        return drafted(
            ("outer", outer),
            ("left_end", line(tuple(outer[-1]), tuple(inner[0]))),
            ("inner", inner),
            ("right_end", line(tuple(inner[-1]), tuple(outer[0]))),
            grain=((0, radius[z] + 20), (0, radius[z] + 66)),
        )

    run = [f"crown.{n}" for n in ("right_back", "left_back", "left_front", "right_front")]
    return PatternSet(
        "sun hat", sizes, "56", "",
        pieces={
            "crown": nest("crown", sizes, top, (12.0, 0.0, 0.0)),
            "side_strip": nest("side_strip", sizes, side, (-90.0, 500.0, 0.0)),
            "brim": nest("brim", sizes, brim, (135.0, 0.0, 600.0)),
        },
        info={
            "crown": PieceInfo("Top", 1, False, "cotton", Allowance(7.0)),
            "side_strip": PieceInfo("Side", 1, False, "cotton", Allowance(7.0, {"upper": 7.0})),
            "brim": PieceInfo("Brim", 4, False, "cotton", Allowance(7.0, {"outer": 5.0})),
        },
        relations=Relations(seams=by_name(
            seam("crown_seam", run, "side_strip.upper reversed"),
            seam("strip_seam", "side_strip.end", "side_strip.start reversed"),
            seam("first_brim", "side_strip.lower from start to middle", "brim.inner"),
            seam("second_brim", "side_strip.lower from middle to end", "brim.inner"),
            seam("brim_ends", "brim.left_end", "brim.right_end reversed"),
        )),
    )  # fmt: skip
