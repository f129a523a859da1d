"""Sound drafts for the lower half of the body: skirts and trousers."""

from __future__ import annotations

from scipy.optimize import brentq

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import (
    Allowance,
    Band,
    BlendMain,
    BlendPlan,
    Girth,
    PieceInfo,
    Zone,
    parse_run,
)
from tests.review.drafting import (
    by_name,
    curve,
    darted,
    drafted,
    flipped,
    joined,
    length,
    line,
    marked,
    mirror_seam,
    nest,
    seam,
    strip,
)

HEM = frozenset({"hem"})
CANVAS = "canvas"


def wrap_skirt() -> PatternSet:
    """A wrap skirt: the front edges are hemmed and sewn to nothing, the ties run on."""
    sizes = ("S", "M", "L", "XL")
    waist = dict(zip(sizes, (168.0, 180.0, 193.0, 208.0), strict=True))
    hip = dict(zip(sizes, (232.0, 244.0, 256.0, 271.0), strict=True))
    lap = {"S": 95.0, "M": 105.0, "L": 105.0, "XL": 115.0}
    long = 640.0

    def side(z: str):  # type: ignore[no-untyped-def]
        w, h = waist[z], hip[z]
        return joined(
            line((h + 70.0, -long), (h, -205.0)),
            curve((h, -205.0), (h - 9.0, -145.0), (w + 16.0, -70.0), (w, 12.0)),
        )

    def back(z: str) -> SizedPiece:
        edge, w = side(z), waist[z]
        found = drafted(
            ("hem", curve((0, -long), (90, -long), (170, -long), (hip[z] + 70, -long))),
            ("side", edge),
            ("waist", curve((w, 12), (w * 0.6, 3), (w * 0.3, 0), (0, 0))),
            ("fold", line((0, 0), (0, -long))),
            grain=((50, -500), (50, -100)),
            hip=(0.0, -205.0),
            top=(0.0, 0.0),
        )
        return marked(found, hip=("side", length(edge[:2])))

    def front(z: str) -> SizedPiece:
        edge, w, o = flipped(side(z)), waist[z], lap[z]
        found = drafted(
            ("hem", line((-hip[z] - 70, -long), (o, -long))),
            ("front_edge", line((o, -long), (o, -14))),
            ("waist", curve((o, -14), (o - 60, -14), (-w * 0.5, 2), (-w, 12))),
            ("side", edge),
            grain=((-50, -500), (-50, -100)),
            hip=(0.0, -205.0),
            top=(0.0, 0.0),
        )
        return marked(found, hip=("side", -length(edge[-2:])), centre=("waist", o))

    def tie(z: str) -> SizedPiece:
        f, b = front(z).edge("waist").length, back(z).edge("waist").length
        at = [650.0, 650.0 + f, 650.0 + f + b, 650.0 + f + 2 * b, 650.0 + 2 * f + 2 * b]
        names = ("edge_right", "side_right", "middle", "side_left", "edge_left")
        return strip(
            at[-1] + 900.0,
            70.0,
            ("lower", "end_left", "upper", "end_right"),
            *zip(names, at, strict=True),
        )

    zones = (
        Zone("tie_right", "start", "edge_right"),
        Zone("front_right", "edge_right", "side_right", parse_run("front.waist")),
        Zone("back_right", "side_right", "middle", parse_run("back.waist")),
        Zone("back_left", "middle", "side_left", parse_run("back.waist reversed")),
        Zone("front_left", "side_left", "edge_left", parse_run("front.waist reversed")),
        Zone("tie_left", "edge_left", "end"),
    )
    return PatternSet(
        "wrap skirt", sizes, "M", "hip",
        pieces={
            "front": nest("front", sizes, front, (25.0, 900.0, 100.0)),
            "back": nest("back", sizes, back, (-90.0, 0.0, 0.0)),
            "tie": nest("tie", sizes, tie, (90.0, -2000.0, 0.0)),
        },
        info={
            "front": PieceInfo("Front", 2, True, CANVAS, Allowance(
                15.0, {"hem": 40.0, "front_edge": 30.0, "waist": 10.0}, HEM
            )),
            "back": PieceInfo("Back", 1, False, CANVAS, Allowance(
                15.0, {"hem": 40.0, "fold": 0.0, "waist": 10.0}, HEM
            ), "fold"),
            "tie": PieceInfo("Waist tie", 1, False, CANVAS, Allowance(10.0)),
        },
        relations=Relations(
            seams=by_name(seam(
                "side_seam", "front.side", "back.side reversed",
                notches=(("front.hip", "back.hip"),),
            )),
            bands=by_name(Band("tie_fit", "tie", "lower", "upper", zones)),
        ),
    )  # fmt: skip


def panel_skirt() -> PatternSet:
    """Four panels, a seam at both centres, a dart in each back panel; the grade is not even."""
    sizes = ("10", "12", "14", "16", "18", "20")
    waist = dict(zip(sizes, (160.0, 170.0, 180.0, 192.5, 207.5, 222.5), strict=True))
    hip = dict(zip(sizes, (225.0, 235.0, 245.0, 257.5, 272.5, 287.5), strict=True))
    long = dict(zip(sizes, (560.0, 560.0, 570.0, 570.0, 580.0, 580.0), strict=True))

    def side(z: str, w: float, top: float):  # type: ignore[no-untyped-def]
        h = hip[z]
        return joined(
            line((h + 25.0, -long[z]), (h, -200.0)),
            curve((h, -200.0), (h - 3.5, -130.0), (w + 14.0, -60.0), (w, top)),
        )

    def panel(z: str, w: float, high: float) -> SizedPiece:
        wanted = length(side(z, waist[z] + 4.0, 15.0))
        top = brentq(lambda y: length(side(z, w, y)) - wanted, 0.0, 30.0)  # sides are alike
        edge = side(z, w, top)
        found = drafted(
            ("centre", line((0, high), (0, -long[z]))),
            ("hem", line((0, -long[z]), (hip[z] + 25, -long[z]))),
            ("side", edge),
            ("waist", line((w, top), (0, high))),
            grain=((70, -long[z] + 60), (70, -120)),
            waist=(0.0, 0.0),
            hip=(0.0, -200.0),
        )
        return marked(found, hip_notch=("side", length(edge[:2])))

    def front(z: str) -> SizedPiece:
        return panel(z, waist[z] + 4.0, 4.0)

    def back(z: str) -> SizedPiece:
        w = waist[z] + 20.0
        found = marked(panel(z, w, -6.0), zip_end=("centre", 190.0))
        return darted(found, "dart", "waist", w * 0.53, 24.0, 125.0 + (waist[z] - 160.0) * 0.1)

    chart = {
        "waist": {z: 4 * waist[z] - 20.0 for z in sizes},
        "hips": {z: 4 * hip[z] - 50.0 for z in sizes},
    }
    mains = tuple(
        BlendMain(name, "waist", "centre", "side", "hip", "hip") for name in ("front", "back")
    )
    return PatternSet(
        "panel skirt", sizes, "14", "hip",
        pieces={
            "front": nest("front", sizes, front, (180.0, 0.0, 0.0)),
            "back": nest("back", sizes, back, (0.0, 700.0, -300.0), each=6.0),
        },
        info={
            "front": PieceInfo("Front", 2, True, "denim", Allowance(10.0, {"hem": 30.0}, HEM)),
            "back": PieceInfo("Back", 2, True, "denim", Allowance(
                10.0, {"hem": 30.0, "centre": 20.0}, HEM
            )),
        },
        relations=Relations(
            seams=by_name(
                seam(
                    "side_seam", "front.side", "back.side", hold="hip",
                    notches=(("front.hip_notch", "back.hip_notch"),),
                ),
                mirror_seam("centre_front", "front.centre"),
                mirror_seam("centre_back", "back.centre"),
            ),
            girths=by_name(
                Girth("waist", (parse_run("front.waist"), parse_run("back.waist")), chart="waist"),
                Girth("hip", (), "hip", ("front", "back"), 2, "hips"),
            ),
            blend=BlendPlan("waist", "hip", mains, "side_seam"),
        ),
        chart=chart,
    )  # fmt: skip


def pyjama_trousers() -> PatternSet:
    """Pyjama trousers with a pocket in the side seam, whose mouth is sewn to side and pocket."""
    sizes = ("36/38", "40/42", "44/46")
    hip = {"36/38": 260.0, "40/42": 280.0, "44/46": 301.0}
    rise = {"36/38": 290.0, "40/42": 300.0, "44/46": 310.0}
    leg = 760.0

    def half(z: str, fork: float, slant: float) -> SizedPiece:
        h, r = hip[z], rise[z]
        inner = line((h + fork, 0), (h * 0.86, -leg))
        found = drafted(
            ("waist", line((h - slant, r), (0, r))),
            ("side", line((0, r), (0, -leg))),
            ("hem", line((0, -leg), (h * 0.86, -leg))),
            ("inseam", inner[::-1]),
            ("crotch", curve((h + fork, 0), (h + fork * 0.4, 0), (h, 30), (h - slant, r))),
            grain=((h / 2, -600), (h / 2, 100)),
            crotch=(0.0, 0.0),
            waist=(0.0, r),
        )
        return marked(found, pocket_top=("side", 70.0), pocket_low=("side", 70.0 + 160.0))

    def front(z: str) -> SizedPiece:
        return half(z, 55.0, 12.0)

    def back(z: str) -> SizedPiece:
        other = half(z, 55.0, 12.0)
        wide = half(z, 105.0, 40.0)
        # The back's inseam starts lower, so that both inseams are alike.
        target, wanted = wide.edge("inseam").points, other.edge("inseam").length
        low = (wanted**2 - (target[1][0] - target[0][0]) ** 2) ** 0.5
        h, r, top = hip[z], rise[z], (hip[z] + 105.0, low - leg)
        found = drafted(
            ("waist", line((h - 40, r + 25), (0, r))),
            ("side", line((0, r), (0, -leg))),
            ("hem", line((0, -leg), (h * 0.86, -leg))),
            ("inseam", line((h * 0.86, -leg), top)),
            ("crotch", curve(top, (h + 40, top[1] - 2), (h + 4, 40), (h - 40, r + 25))),
            grain=((h / 2, -600), (h / 2, 100)),
            crotch=(0.0, 0.0),
            waist=(0.0, r),
        )
        return marked(found, pocket_top=("side", 70.0), pocket_low=("side", 70.0 + 160.0))

    def pocket(z: str) -> SizedPiece:
        return drafted(
            ("mouth", line((0, 160), (0, 0))),
            ("bag", curve((0, 0), (40, -150), (210, -110), (150, 150))),
            ("top", line((150, 150), (0, 160))),
            grain=((60, -20), (60, 120)),
        )

    return PatternSet(
        "pyjama trousers", sizes, "40/42", "crotch",
        pieces={
            "trouser_front": nest("trouser_front", sizes, front, (7.0, 0.0, 0.0)),
            "trouser_back": nest("trouser_back", sizes, back, (-173.0, 1500.0, 0.0)),
            "pocket_bag": nest("pocket_bag", sizes, pocket, (40.0, -400.0, 0.0)),
        },
        info={
            name: PieceInfo(title, 2, True, "flannel", Allowance(
                12.0, {"hem": 35.0, "waist": 45.0}, frozenset({"hem", "waist"})
            ))
            for name, title in (("trouser_front", "Front"), ("trouser_back", "Back"))
        }
        | {"pocket_bag": PieceInfo("Pocket bag", 4, True, "lining", Allowance(12.0))},
        relations=Relations(seams=by_name(
            seam("side_seam", "trouser_front.side", "trouser_back.side", notches=(
                ("trouser_front.pocket_top", "trouser_back.pocket_top"),
                ("trouser_front.pocket_low", "trouser_back.pocket_low"),
            )),
            seam("inseam", "trouser_front.inseam", "trouser_back.inseam"),
            seam(
                "front_pocket", "trouser_front.side from pocket_top to pocket_low",
                "pocket_bag.mouth", check=True,
            ),
            seam(
                "back_pocket", "trouser_back.side from pocket_top to pocket_low",
                "pocket_bag.mouth", check=True,
            ),
            mirror_seam("pocket_seam", "pocket_bag.bag"),
            mirror_seam("front_crotch", "trouser_front.crotch"),
            mirror_seam("back_crotch", "trouser_back.crotch"),
        )),
    )  # fmt: skip
