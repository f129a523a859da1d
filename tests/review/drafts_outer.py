"""Sound drafts for the upper half of the body: a cape, a boxy top with slits."""

from __future__ import annotations

import numpy as np

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Band, Girth, PieceInfo, Place, Zone, parse_run
from tests.review.drafting import (
    by_name,
    curve,
    darted,
    drafted,
    joined,
    line,
    marked,
    nest,
    seam,
    strip,
)


def cape() -> PatternSet:
    """A cape: one long seam over the shoulder, with a dart in its back, a bound neck."""
    sizes = ("I", "II", "III")
    arm = {"I": 640.0, "II": 660.0, "III": 690.0}
    dart = {"I": 14.0, "II": 15.0, "III": 17.0}

    def half(z: str, fall: float, more: float) -> SizedPiece:
        """Shoulder seam straight near the neck, then curved over the arm."""
        a = arm[z]
        shift = np.array([more, -0.33 * more])
        outer = curve((188, 3.7), (250, -17), (330, -a * 0.45), (400, -a * 0.9)) + shift
        shoulder = joined(line((78, 40), tuple(outer[0])), outer)
        end = (float(shoulder[-1][0]), float(shoulder[-1][1]))
        return drafted(
            ("centre", line((0, 40 - fall), (0, -a))),
            ("hem", curve((0, -a), (160, -a), (330, -a * 0.96), end)),
            ("shoulder", shoulder[::-1]),
            ("neck", curve((78, 40), (74, 40 - fall * 0.6), (44, 40 - fall), (0, 40 - fall))),
            grain=((60, -a + 90), (60, -90)),
        )

    def front(z: str) -> SizedPiece:
        return half(z, 86.0, 0.0)

    def back(z: str) -> SizedPiece:
        wide = dart[z]
        # Longer than the front by the dart exactly: the straight part of the seam is.
        found = half(z, 26.0, wide / float(np.hypot(1.0, 0.33)))
        at = found.edge("shoulder").length - 62.0
        return darted(found, "shoulder_dart", "shoulder", at, wide, 78.0)

    def binding(z: str) -> SizedPiece:
        f, b = front(z).edge("neck").length, back(z).edge("neck").length
        at = (("right_shoulder", 300.0 + f), ("left_shoulder", 300.0 + f + 2 * b))
        ends = (("right_front", 300.0), ("left_front", 300.0 + 2 * (f + b)))
        return strip(600.0 + 2 * (f + b), 30.0, ("sewn", "end", "rim", "start"), *at, *ends)

    zones = (
        Zone("right_tie", "start", "right_front"),
        Zone("right", "right_front", "right_shoulder", parse_run("cape_front.neck reversed")),
        Zone(
            "back", "right_shoulder", "left_shoulder",
            parse_run(["cape_back.neck", "cape_back.neck reversed"]),
        ),
        Zone("left", "left_shoulder", "left_front", parse_run("cape_front.neck")),
        Zone("left_tie", "left_front", "end"),
    )  # fmt: skip
    return PatternSet(
        "cape", sizes, "II", "",
        pieces={
            "cape_front": nest("cape_front", sizes, front, (15.0, 0.0, 0.0)),
            "cape_back": nest("cape_back", sizes, back, (-60.0, 900.0, 0.0), each=4.0),
            "neck_binding": nest("neck_binding", sizes, binding, (45.0, 0.0, 900.0)),
        },
        info={
            "cape_front": PieceInfo("Front", 2, True, "wool", Allowance(
                15.0, {"hem": 0.0, "neck": 0.0, "centre": 50.0}
            )),
            "cape_back": PieceInfo("Back", 1, False, "wool", Allowance(
                15.0, {"hem": 0.0, "neck": 0.0, "centre": 0.0}
            ), "centre"),
            "neck_binding": PieceInfo("Neck binding", 1, False, "bias tape", Allowance(0.0)),
        },
        relations=Relations(
            seams=by_name(seam("shoulder_seam", "cape_front.shoulder", "cape_back.shoulder")),
            bands=by_name(Band("binding_fit", "neck_binding", "sewn", "rim", zones)),
        ),
    )  # fmt: skip


def boxy_top() -> PatternSet:
    """A boxy top with slits: the front grows more than the back, lengths every other size."""
    sizes = ("XXS", "XS", "S", "M", "L", "XL")
    front_wide = dict(zip(sizes, (232.0, 242.0, 254.0, 266.0, 282.0, 300.0), strict=True))
    back_wide = dict(zip(sizes, (226.0, 234.0, 243.0, 252.0, 264.0, 277.0), strict=True))
    long = dict(zip(sizes, (520.0, 520.0, 540.0, 540.0, 560.0, 560.0), strict=True))
    mouth = dict(zip(sizes, (108.0, 108.0, 108.0, 120.0, 120.0, 120.0), strict=True))
    slit = 75.0

    def half(z: str, w: float, fall: float) -> SizedPiece:
        h, tip = long[z], back_wide[z] + 8.0
        top = h - 30.0 + 0.2 * (tip - 92.0)
        found = drafted(
            ("centre", line((0, h - fall), (0, 0))),
            ("hem", line((0, 0), (w, 0))),
            ("side", line((w, 0), (w, h - 215))),
            ("sleeve_hem", line((w, h - 215), (tip, h - 30))),
            ("shoulder", line((tip, h - 30), (92, top))),
            ("neck", curve((92, top), (86, h - fall * 0.7), (50, h - fall), (0, h - fall))),
            grain=((40, 40), (40, h - 200)),
            bust=(0.0, h - 215.0),
        )
        return marked(found, slit=("side", slit))

    def front(z: str) -> SizedPiece:
        return half(z, front_wide[z], 110.0)

    def back(z: str) -> SizedPiece:
        return half(z, back_wide[z], 30.0)

    def pocket(z: str) -> SizedPiece:
        a = mouth[z]
        return drafted(
            ("left", line((0, a), (0, 0))),
            ("low", joined(line((0, 0), (a / 2, -22)), line((a / 2, -22), (a, 0)))),
            ("right", line((a, 0), (a, a))),
            ("mouth", line((a, a), (0, a))),
            grain=((a / 2, 0), (a / 2, a - 10)),
        )

    def facing(z: str, drawn: SizedPiece) -> SizedPiece:
        neck = drawn.edge("neck").points
        shoulder = drawn.edge("shoulder").points
        way = (shoulder[0] - shoulder[-1]) / np.hypot(*(shoulder[0] - shoulder[-1]))
        top, inner = neck[0], neck[0] + 45.0 * way
        low = neck[-1] - (0.0, 45.0)
        return drafted(
            ("centre", line(tuple(neck[-1]), tuple(low))),
            (
                "free",
                curve(
                    tuple(low), (float(inner[0]) * 0.6, float(low[1])),
                    (float(inner[0]), float(low[1]) + 20.0), tuple(inner),
                ),
            ),
            ("shoulder", line(tuple(inner), tuple(top))),
            ("neck", neck),
            grain=((20, float(low[1]) + 3), (20, float(low[1]) + 40)),
        )  # fmt: skip

    def front_facing(z: str) -> SizedPiece:
        return facing(z, front(z))

    def back_facing(z: str) -> SizedPiece:
        return facing(z, back(z))

    drawn = {
        "front": front, "back": back, "pocket": pocket,
        "front_facing": front_facing, "back_facing": back_facing,
    }  # fmt: skip
    cloth = {"hem": 25.0, "sleeve_hem": 20.0, "neck": 6.0, "centre": 0.0}
    body = Allowance(12.0, cloth, frozenset({"hem", "sleeve_hem"}))
    facings = {"front_facing": "Front facing", "back_facing": "Back facing"}
    return PatternSet(
        "boxy top", sizes, "M", "bust",
        pieces={
            name: nest(name, sizes, draw, (31.0 * i, 400.0 * i, -100.0), each=3.0 * (i % 2))
            for i, (name, draw) in enumerate(drawn.items())
        },
        info={
            "front": PieceInfo("Front", 1, False, "linen", body, "centre"),
            "back": PieceInfo("Back", 1, False, "linen", body, "centre"),
            "pocket": PieceInfo("Breast pocket", 1, False, "linen", Allowance(
                10.0, {"mouth": 30.0}, frozenset({"mouth"})
            )),
            **{
                name: PieceInfo(title, 1, False, "linen", Allowance(
                    12.0, {"neck": 6.0, "centre": 0.0, "free": 0.0}
                ), "centre")
                for name, title in facings.items()
            },
        },
        relations=Relations(
            seams=by_name(
                seam("shoulder_seam", "front.shoulder", "back.shoulder"),
                seam("side_seam", "front.side from slit to end", "back.side from slit to end"),
                seam("front_neck", "front.neck", "front_facing.neck"),
                seam("back_neck", "back.neck", "back_facing.neck"),
                seam("facing_shoulder", "front_facing.shoulder", "back_facing.shoulder"),
            ),
            places=({"pocket": Place("pocket", "bust")}),
            girths=by_name(Girth("bust", (), "bust", ("front", "back"), 2, "bust")),
        ),
        chart={"bust": {z: 2 * (front_wide[z] + back_wide[z]) - 150.0 for z in sizes}},
    )  # fmt: skip
