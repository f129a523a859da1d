"""Sound drafts for the upper half of the body: a shirt, a child's pinafore."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Band, PieceInfo, Zone, parse_run
from tests.review.drafting import (
    Points,
    by_name,
    curve,
    drafted,
    flipped,
    length,
    line,
    marked,
    mirror_seam,
    nest,
    seam,
    strip,
)

HEM = frozenset({"hem"})


def shirt() -> PatternSet:
    """A shirt body with sleeve and collar band; the cap is eased in, more behind than in front."""
    sizes = ("34/36", "38/40", "42/44", "46/48", "50/52")
    chest = dict(zip(sizes, (235.0, 255.0, 275.0, 298.0, 325.0), strict=True))
    across = dict(zip(sizes, (178.0, 185.0, 192.0, 200.0, 208.0), strict=True))
    neck = dict(zip(sizes, (68.0, 70.5, 73.0, 76.0, 79.0), strict=True))
    deep = dict(zip(sizes, (212.0, 220.0, 228.0, 238.0, 250.0), strict=True))
    ease = {"front": 5.0, "back": 7.0}

    def body(z: str, fall: float, hollow: float) -> SizedPiece:
        c, a, n, d = chest[z], across[z], neck[z], deep[z]
        tip, low, low_neck = (a, 0.0), (c, -d), 42.0 - fall
        found = drafted(
            ("hem", line((0, -720), (c, -720))),
            ("side", line((c, -720), low)),
            ("armhole", curve(low, (c - 42, -d), (a - hollow, -d * 0.55), tip)),
            ("shoulder", line(tip, (n, 42))),
            (
                "neck",
                curve((n, 42), (n - 4, 42 - fall * 0.7), (n * 0.6, low_neck), (0, low_neck)),
            ),
            ("centre", line((0, low_neck), (0, -720))),
            grain=((c / 2, -650), (c / 2, -250)),
        )
        return marked(found, armhole_mark=("armhole", 95.0), waist_mark=("side", 290.0))

    def front(z: str) -> SizedPiece:
        return body(z, 82.0, 20.0)

    def back(z: str) -> SizedPiece:
        return body(z, 24.0, 6.0)

    def cap(z: str, name: str, drawn: SizedPiece) -> Points:
        """From the top of the cap down to the underarm, as wide as its length asks."""
        wanted, high = drawn.edge("armhole").length + ease[name], 0.62 * deep[z]

        def at(wide: float) -> Points:
            return curve((0, high), (wide * 0.42, high), (wide * 0.55, 8), (wide, 0))

        return at(float(brentq(lambda wide: length(at(wide)) - wanted, 60.0, 400.0)))

    def sleeve(z: str) -> SizedPiece:
        before, behind = cap(z, "front", front(z)), cap(z, "back", back(z))
        right, left = before[-1][0], behind[-1][0]
        wrist, low = 0.52 * (right + left) / 2, -430.0
        # The underarm seams are alike: the wider half is longer by nothing, its wrist moves.
        reach = float(np.hypot(right - wrist, low))
        wrist_left = left - float(np.sqrt(reach**2 - low**2))
        found = drafted(
            ("wrist", line((-wrist_left, low), (wrist, low))),
            ("underarm_front", line((wrist, low), (right, 0))),
            ("cap_front", before[::-1]),
            ("cap_back", flipped(behind)[::-1]),
            ("underarm_back", line((-left, 0), (-wrist_left, low))),
            grain=((0, -400), (0, 80)),
        )
        return marked(found, front_mark=("cap_front", 96.5))

    def band(z: str) -> SizedPiece:
        f, b = front(z).edge("neck").length, back(z).edge("neck").length
        at = (18.0, 18.0 + f, 18.0 + f + 2 * b, 18.0 + 2 * (f + b))
        names = ("centre_right", "shoulder_right", "shoulder_left", "centre_left")
        return strip(
            at[-1] + 18.0, 36.0, ("neck", "left_end", "upper", "right_end"),
            *zip(names, at, strict=True),
        )  # fmt: skip

    zones = (
        Zone("stand_right", "start", "centre_right"),
        Zone("front_right", "centre_right", "shoulder_right", parse_run("front.neck reversed")),
        Zone(
            "back", "shoulder_right", "shoulder_left",
            parse_run(["back.neck", "back.neck reversed"]),
        ),
        Zone("front_left", "shoulder_left", "centre_left", parse_run("front.neck")),
        Zone("stand_left", "centre_left", "end"),
    )  # fmt: skip
    cuffed = Allowance(10.0, {"wrist": 25.0})
    return PatternSet(
        "work shirt", sizes, "42/44", "",
        pieces={
            "front": nest("front", sizes, front, (2.0, 100.0, 0.0), each=-11.0),
            "back": nest("back", sizes, back, (180.0, -300.0, 0.0)),
            "sleeve": nest("sleeve", sizes, sleeve, (95.0, 900.0, 300.0)),
            "neck_band": nest("neck_band", sizes, band, (0.0, 0.0, 500.0)),
        },
        info={
            "front": PieceInfo("Front", 2, True, "poplin", Allowance(
                10.0, {"hem": 15.0, "neck": 7.0, "centre": 60.0}, HEM
            )),
            "back": PieceInfo("Back", 1, False, "poplin", Allowance(
                10.0, {"hem": 15.0, "neck": 7.0, "centre": 0.0}, HEM
            ), "centre"),
            "sleeve": PieceInfo("Sleeve", 2, True, "poplin", cuffed),
            "neck_band": PieceInfo("Collar band", 2, False, "poplin", Allowance(7.0)),
        },
        relations=Relations(
            seams=by_name(
                seam("shoulder_seam", "front.shoulder", "back.shoulder"),
                seam(
                    "side_seam", "front.side", "back.side",
                    notches=(("front.waist_mark", "back.waist_mark"),),
                ),
                seam(
                    "armhole_front", "front.armhole", "sleeve.cap_front", ease=5.0,
                    notches=(("front.armhole_mark", "sleeve.front_mark"),),
                ),
                seam("armhole_back", "back.armhole", "sleeve.cap_back reversed", ease=7.0),
                seam("underarm", "sleeve.underarm_front", "sleeve.underarm_back reversed"),
            ),
            bands=by_name(Band("band_fit", "neck_band", "neck", "upper", zones)),
        ),
    )  # fmt: skip


def pinafore() -> PatternSet:
    """A child's pinafore, its skirt gathered into the bodice by more than half of its length."""
    sizes = ("2Y", "4Y", "6Y", "8Y")
    chest = dict(zip(sizes, (140.0, 148.0, 158.0, 170.0), strict=True))
    long = dict(zip(sizes, (150.0, 165.0, 182.0, 200.0), strict=True))
    skirt = dict(zip(sizes, (240.0, 290.0, 345.0, 400.0), strict=True))
    fullness = 95.0

    def bodice(z: str, fall: float) -> SizedPiece:
        c, h = chest[z], long[z]
        return drafted(
            ("waist", line((0, 0), (c, 0))),
            ("side", line((c, 0), (c + 6, h * 0.45))),
            (
                "armhole",
                curve((c + 6, h * 0.45), (c - 34, h * 0.5), (c - 38, h * 0.8), (c - 38, h)),
            ),
            ("shoulder", line((c - 38, h), (56, h + 12))),
            ("neck", curve((56, h + 12), (52, h - fall), (30, h - fall), (0, h - fall))),
            ("centre", line((0, h - fall), (0, 0))),
            grain=((c / 2, 12), (c / 2, h * 0.6)),
        )

    def front(z: str) -> SizedPiece:
        return bodice(z, 40.0)

    def back(z: str) -> SizedPiece:
        return bodice(z, 14.0)

    def panel(z: str) -> SizedPiece:
        w, h = chest[z] + fullness, skirt[z]
        return drafted(
            ("hem", line((0, -h), (w + 20, -h))),
            ("side", line((w + 20, -h), (w, 0))),
            ("waist", line((w, 0), (0, 0))),
            ("centre", line((0, 0), (0, -h))),
            grain=((w / 2, -h + 30), (w / 2, -30)),
        )

    names = {"bodice_front": front, "bodice_back": back, "skirt_front": panel, "skirt_back": panel}
    folded = {"bodice_front", "skirt_front"}
    edges = {"hem": 50.0, "neck": 6.0, "armhole": 6.0}
    return PatternSet(
        "pinafore", sizes, "4Y", "",
        pieces={
            name: nest(name, sizes, draw, (70.0 * i, 600.0 * i, 0.0))
            for i, (name, draw) in enumerate(names.items())
        },
        info={
            name: PieceInfo(
                name.replace("_", " ").capitalize(),
                1 if name in folded else 2,
                name not in folded,
                "corduroy",
                Allowance(
                    10.0,
                    {e: mm for e, mm in edges.items() if e in names[name]("4Y").edge_names}
                    | {"centre": 0.0 if name in folded else 20.0},
                    HEM if "skirt" in name else frozenset(),
                ),
                "centre" if name in folded else None,
            )
            for name in names
        },
        relations=Relations(
            seams=by_name(
                seam("shoulders", "bodice_front.shoulder", "bodice_back.shoulder"),
                seam("bodice_side", "bodice_front.side", "bodice_back.side"),
                seam("skirt_side", "skirt_front.side", "skirt_back.side"),
                mirror_seam("back_skirt_centre", "skirt_back.centre"),
                seam(
                    "front_gathers", "bodice_front.waist", "skirt_front.waist reversed",
                    ease=fullness,
                ),
                seam(
                    "back_gathers", "bodice_back.waist", "skirt_back.waist reversed",
                    ease=fullness,
                ),
            ),
        ),
    )  # fmt: skip
