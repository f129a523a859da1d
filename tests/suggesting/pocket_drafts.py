"""Garments with a pocket in the side seam, drafted by formula, with their relations.

A bag is sewn between two notches to the front and to the back; its mouth is as long in every
size.  Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import between, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, SeamOpening, parse_run
from tests.suggesting.garment_drafts import (
    SIZES,
    Array,
    Point,
    casing_seams,
    curve,
    draft_walking_trouser,
    leg_seams,
    length,
    line,
    marked,
    mirror_edges,
    outline,
    seam,
    set_of,
    solved,
    strip,
)
from tests.suggesting.wardrobe_drafts import draft_attic_pyjama

MOUTH_MM = 160.0


def _on_edge(
    piece: SizedPiece, edge: str, places: dict[str, float]
) -> list[tuple[str, str, Point]]:
    """Notches so far from the start of an edge; from its end where the distance is negative."""
    points = np.asarray(piece.edge(edge).points)
    found = []
    for name, far in places.items():
        x, y = point_at(points, far if far >= 0 else length(points) + far)
        found.append((name, edge, (float(x), float(y))))
    return found


def _teardrop(mouth: float, above: float, below: float, wide: float, deep: float) -> SizedPiece:
    """A bag that hangs from a straight edge, which goes on beyond both notches of the mouth."""
    tall = above + mouth + below
    round_ = np.concatenate(
        [
            curve((0.0, 0.0), (8.0, -deep), (wide, -deep), (wide, 30.0)),
            curve((wide, 30.0), (wide, tall * 0.7), (wide * 0.5, tall), (0.0, tall))[1:],
        ]
    )
    bag = outline({"round": round_, "side": line((0.0, tall), (0.0, 0.0))})
    return marked(bag, [("top", "side", (0.0, tall - above)), ("low", "side", (0.0, below))])


# --------------------------------------------- a trouser: the bag hangs from the side seam alone


def _ford_trouser(k: int) -> dict[str, SizedPiece]:
    legs = draft_walking_trouser(k)
    front, back = legs["front"], legs["back"]
    hip, knee = 205.0 + 3 * k, 610.0 + 5 * k
    far = {"mouth_top": 32.0, "mouth_low": 32.0 + MOUTH_MM, "hip": hip, "knee": knee}
    back_far = {name: -at for name, at in far.items()}
    return {
        "front": marked(front, _on_edge(front, "side", far)),
        "back": marked(back, _on_edge(back, "side", back_far)),
        "bag": _teardrop(MOUTH_MM, 22.0, 30.0, 150.0, 96.0),
    }


def _hang_bag(front: str, back: str) -> list[Seam]:
    """The bag, from the upper notch to the lower one, on the front and on the back."""
    own = ["bag.side from top to low"]
    return [
        seam("front_bag", [f"{front}.side from mouth_top to mouth_low"], own),
        replace(seam("back_bag", [f"{back}.side from mouth_top to mouth_low"], own), check=True),
    ]


def _with_mouth(made: PatternSet, front: str, back: str) -> PatternSet:
    """The mouth, which keeps its length on front, back and bag."""
    sides = [
        f"{front}.side from mouth_top to mouth_low",
        f"{back}.side from mouth_top to mouth_low",
    ]
    mouth = SeamOpening("pocket", tuple(parse_run(side) for side in sides))
    return replace(made, relations=replace(made.relations, seam_openings={"pocket": mouth}))


def ford_trouser() -> PatternSet:
    """A trouser with a bag in each side seam that hangs free, cut four times."""
    drawn = [_ford_trouser(k) for k in range(len(SIZES))]
    made = set_of("ford trouser", drawn, [*leg_seams(), *_hang_bag("front", "back")])
    return _with_mouth(made, "front", "back")


# ------------------------------------------------ a skirt: the bag reaches up to the waist


def _heron_skirt(k: int) -> dict[str, SizedPiece]:
    half, waist, long, drop = 242.0 + 11 * k + k * k, 188.0 + 10 * k + k * k, 612.0 + 6 * k, 205.0

    def panel(wide: float, narrow: float, dip: float) -> dict[str, Array]:
        """From the centre at x = 0 to the side, whose upper part is the curve of the hip."""
        side = np.concatenate(
            [
                line((wide + 22, 0.0), (wide, long - drop)),
                curve(
                    (wide, long - drop),
                    (wide - 5, long - 110),
                    (narrow + 8, long - 50),
                    (narrow, long),
                )[1:],
            ]
        )
        return {
            "hem": line((0.0, 0.0), (wide + 22, 0.0)),
            "side": side,
            "waist": curve(
                (narrow, long),
                (narrow * 0.6, long - dip),
                (narrow * 0.3, long - dip),
                (0, long - dip),
            ),
            "centre": line((0.0, long - dip), (0.0, 0.0)),
        }

    back = panel(half, waist + 4, 11.0)
    front_side = length(back["side"])
    # The front is wider at the hip; its narrower waist makes its side as long as the back's.
    narrow = solved(
        lambda n: -length(panel(half + 8, n, 7.0)["side"]), -front_side, 120.0, half + 8
    )
    front = mirror_edges(panel(half + 8, narrow, 7.0))
    top, low, deep = 42.0, 42.0 + MOUTH_MM, 42.0 + MOUTH_MM + 26.0
    # The bag is cut along the front: its side and its waist are the front's own lines.
    side = np.asarray(outline(front).edge("side").points)
    cut = between(side, 0.0, deep)
    waist_line = np.asarray(outline(front).edge("waist").points)
    wide = 128.0
    upper = between(waist_line, length(waist_line) - wide, length(waist_line))
    a, b = cut[-1], upper[0]
    bag = outline(
        {
            "side": cut,
            "round": curve(
                (float(a[0]), float(a[1])),
                (float(a[0]) + 20, float(a[1]) - 95),
                (float(b[0]) + 55, float(a[1]) - 80),
                (float(b[0]), float(b[1])),
            ),
            "waist": upper,
        }
    )
    far = {"mouth_top": top, "mouth_low": low}
    sewn = {"front": outline(front), "back": outline(back), "bag": bag}
    back_far = {name: -at for name, at in far.items()}
    both = length(waist_line) + length(back["waist"])
    return {
        "front": marked(
            sewn["front"],
            [
                *_on_edge(sewn["front"], "side", far),
                *_on_edge(sewn["front"], "waist", {"bag_end": -wide}),
            ],
        ),
        "back": marked(sewn["back"], _on_edge(sewn["back"], "side", back_far)),
        "bag": marked(bag, _on_edge(bag, "side", {"top": top, "low": low})),
        "waistband": strip(both, 38.0),
    }


def heron_skirt() -> PatternSet:
    """A skirt whose pocket bag is cut along the front up to the waist and caught in the band."""
    bag = "bag.side from start to low"
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        replace(
            seam("front_bag", ["front.side from start to mouth_low"], [bag]),
            notches=(("front.mouth_top", "bag.top"),),
        ),
        replace(seam("back_bag", ["back.side from end to mouth_low"], [bag]), check=True),
        seam("bag_waist", ["front.waist from bag_end to end"], ["bag.waist"]),
        seam("waistband", ["front.waist", "back.waist"], ["waistband.sewn"]),
    ]
    drawn = [_heron_skirt(k) for k in range(len(SIZES))]
    made = set_of("heron skirt", drawn, seams)
    # The end of the bag goes with the side, as the bag does.
    front = replace(made.info["front"], anchors={"bag_end": "waist.end"})
    return _with_mouth(replace(made, info={**made.info, "front": front}), "front", "back")


# --------------------------------------------------- a dress with princess seams, and its bag


def _linden_dress(k: int) -> dict[str, SizedPiece]:
    """Panels of a front and a back that are parted by one line each, from the armhole down."""
    half, tall, scye, neck = 236.0 + 11 * k + k * k, 980.0 + 11 * k, 212.0 + 5 * k, 70.0 + 2 * k
    across, slope, flare = 176.0 + 5 * k, 40.0 + k, 62.0
    waist_y, part = tall - 410.0 - 3 * k, 98.0 + 4 * k

    def body(drop: float, hollow: float, out: float) -> tuple[dict[str, Array], dict[str, Array]]:
        """The panel at the centre, from x = 0, and the one at the side, apart."""
        tip, pit = (across, tall - slope), (half + out, tall - scye)
        hole = curve(pit, (half - 40, tall - scye), (across - hollow, tall - 130), tip)
        at = length(hole) * 0.45
        parted = point_at(hole, at)
        x, y = float(parted[0]), float(parted[1])
        inner = np.concatenate(
            [
                curve(
                    (part + 58, 0.0), (part + 34, 260.0), (part - 4, waist_y - 120), (part, waist_y)
                ),
                curve((part, waist_y), (part + 4, waist_y + 110), (x - 8, y - 60), (x, y))[1:],
            ]
        )
        centre = {
            "hem": line((0.0, 0.0), (part + 58, 0.0)),
            "princess": inner,
            "armhole": between(hole, at, length(hole)),
            "shoulder": line(tip, (neck, tall)),
            "neck": curve(
                (neck, tall),
                (neck - 6, tall - drop * 0.6),
                (neck * 0.5, tall - drop),
                (0, tall - drop),
            ),
            "centre": line((0.0, tall - drop), (0.0, 0.0)),
        }
        goes = part + 26.0

        def beside(bend: float) -> Array:
            return np.concatenate(
                [
                    curve((x, y), (x + 6, y - 60), (goes + bend, waist_y + 110), (goes, waist_y)),
                    curve(
                        (goes, waist_y),
                        (goes - 2, waist_y - 120),
                        (part + 8, 260.0),
                        (part - 6, 0.0),
                    )[1:],
                ]
            )

        bend = solved(lambda b: length(beside(b)), length(inner), 4.0, 160.0)
        side = {
            "princess": beside(bend),
            "hem": line((part - 6, 0.0), (half + out + flare, 0.0)),
            "side": np.concatenate(
                [
                    curve(
                        (half + out + flare, 0.0),
                        (half + out + 30, 260.0),
                        (half + out - 34, waist_y - 150),
                        (half + out - 34, waist_y),
                    ),
                    curve(
                        (half + out - 34, waist_y),
                        (half + out - 34, waist_y + 70),
                        (half + out - 8, tall - scye - 60),
                        pit,
                    )[1:],
                ]
            ),
            "armhole": between(hole, 0.0, at),
        }
        return centre, side

    back, side_back = body(24.0, 2.0, -6.0)
    front, side_front = (mirror_edges(panel) for panel in body(112.0 + 2 * k, 22.0, -6.0))
    side_mm, low = length(side_back["side"]), waist_y - 60.0
    from_hem = length(side_back["side"][side_back["side"][:, 1] <= low])
    far = {"mouth_low": from_hem - MOUTH_MM, "mouth_top": from_hem}
    panels = {"side_front": outline(side_front), "side_back": outline(side_back)}
    return {
        "front": outline(front),
        "side_front": marked(
            panels["side_front"],
            _on_edge(panels["side_front"], "side", {n: side_mm - at for n, at in far.items()}),
        ),
        "side_back": marked(panels["side_back"], _on_edge(panels["side_back"], "side", far)),
        "back": outline(back),
        "bag": _teardrop(MOUTH_MM, 30.0, 24.0, 162.0, 110.0),
    }


def linden_dress() -> PatternSet:
    """A dress with princess seams and a bag in each side seam."""
    seams = [
        seam("front_princess", ["front.princess"], ["side_front.princess reversed"]),
        seam("back_princess", ["side_back.princess"], ["back.princess reversed"]),
        seam("side", ["side_front.side"], ["side_back.side reversed"]),
        seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]),
        Seam("centre_back", parse_run(["back.centre"]), (), mirror=True),
        *_hang_bag("side_front", "side_back"),
    ]
    drawn = [_linden_dress(k) for k in range(len(SIZES))]
    return _with_mouth(set_of("linden dress", drawn, seams), "side_front", "side_back")


# --------------------------------- pyjama trousers with an extension of the side for the bag


def _step_out(piece: SizedPiece, upper: float, out: float) -> dict[str, Array]:
    """The edges of a piece whose side steps out below the waist, to its left or (+1) its right."""
    edges: dict[str, Array] = {}
    for edge in piece.edges:
        if edge.name != "side":
            edges[edge.name] = np.asarray(edge.points)
            continue
        down = np.asarray(edge.points)
        if down[0][1] < down[-1][1]:
            down = down[::-1]
        low = upper + MOUTH_MM + 40.0
        a, b = point_at(down, upper), point_at(down, low)
        way = (b - a) / np.hypot(*(b - a))
        top = a + 20.0 * way + 28.0 * out * np.array([-way[1], way[0]])
        c, d, e, f = ((float(x), float(y)) for x, y in (a, top, top + MOUTH_MM * way, b))
        parts = {
            "upper_side": between(down, 0.0, upper),
            "step_out": line(c, d),
            "step": line(d, e),
            "step_in": line(e, f),
            "side": between(down, low, length(down)),
        }
        if out > 0:
            parts = {name: points[::-1] for name, points in reversed(parts.items())}
        edges |= parts
    return edges


def _sewn_bag() -> SizedPiece:
    """A bag whose whole straight edge is sewn to a step."""
    wide, deep = 150.0, 100.0
    round_ = np.concatenate(
        [
            curve((0.0, 0.0), (8.0, -deep), (wide, -deep), (wide, 30.0)),
            curve((wide, 30.0), (wide, 120.0), (wide * 0.5, MOUTH_MM), (0.0, MOUTH_MM))[1:],
        ]
    )
    return outline({"round": round_, "sewn": line((0.0, MOUTH_MM), (0.0, 0.0))})


STEP_SEAMS = (
    seam("upper_side", ["front.upper_side"], ["back.upper_side reversed"]),
    seam("front_bag", ["front.step"], ["bag.sewn"]),
    replace(seam("back_bag", ["back.step reversed"], ["bag.sewn"]), check=True),
)


def _alder_pants(k: int) -> dict[str, SizedPiece]:
    legs = draft_attic_pyjama(k)
    return {
        "front": outline(_step_out(legs["front"], 40.0 + k, -1.0)),
        "back": outline(_step_out(legs["back"], 40.0 + k, 1.0)),
        "casing": legs["casing"],
        "bag": _sewn_bag(),
    }


def alder_pants() -> PatternSet:
    """Trousers to pull on whose sides step out for the bag that is sewn there."""
    seams = [
        *leg_seams(),
        *STEP_SEAMS,
        *casing_seams(),
    ]
    return set_of("alder pants", [_alder_pants(k) for k in range(len(SIZES))], seams)


def _willow_trouser(k: int) -> dict[str, SizedPiece]:
    legs = draft_walking_trouser(k)
    return {
        "front": outline(_step_out(legs["front"], 34.0 + k, -1.0)),
        "back": outline(_step_out(legs["back"], 34.0 + k, 1.0)),
        "bag": _sewn_bag(),
    }


def willow_trouser() -> PatternSet:
    """Trousers with curved sides that step out for the bag."""
    seams = [*leg_seams(), *STEP_SEAMS]
    return set_of("willow trouser", [_willow_trouser(k) for k in range(len(SIZES))], seams)


def _sedge_skirt(k: int) -> dict[str, SizedPiece]:
    skirt = _heron_skirt(k)
    return {
        "front": outline(_step_out(skirt["front"], 45.0 + k, -1.0)),
        "back": outline(_step_out(skirt["back"], 45.0 + k, 1.0)),
        "bag": _sewn_bag(),
        "waistband": skirt["waistband"],
    }


def sedge_skirt() -> PatternSet:
    """A skirt whose sides step out for the bag."""
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        *STEP_SEAMS,
        seam("waistband", ["front.waist", "back.waist"], ["waistband.sewn"]),
    ]
    return set_of("sedge skirt", [_sedge_skirt(k) for k in range(len(SIZES))], seams)
