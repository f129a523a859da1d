"""Sound drafts, upper half of the body: shirt, pinafore, hat, cape, a boxy top."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Band, Girth, PieceInfo, Place, Zone, parse_run
from tests.review.drafting import (
    Points,
    arc,
    curve,
    darted,
    drafted,
    flipped,
    joined,
    length,
    line,
    marked,
    nest,
    strip,
)
from tests.review.drafts_skirts import by_name, mirror_seam, seam

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
