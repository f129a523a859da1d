"""Mistakes in what is drawn: units, sizes of the nest, grain, levels, darts, marks."""

from __future__ import annotations

from dataclasses import replace

from propagate.pattern.model import Landmark, SizedPiece
from tests.review.judge import Mistake
from tests.review.redrawing import (
    as_in,
    dart_lost,
    level_lost,
    level_moved,
    lines_lost,
    lines_moved,
    mirrored,
    off_grain,
    redraw,
    scaled,
    slid,
    stretched,
    tip_moved,
    towards,
)
from tests.review.words import (
    CENTIMETRES,
    DART,
    GRAIN,
    INCHES,
    MIRRORED,
    NOT_GRADED,
    OFF,
    OUT_OF_LINE,
    SIZES_MIXED,
    UNITS,
    either,
)

T, S, G, A = "slant_trouser", "scoop_skirt", "workshop_gilet", "garden_apron"
TROUSER_LEG = ("front", "back", "facing", "under_bag", "top_bag", "waistband")
SKIRT = ("skirt_front", "skirt_back", "pocket_facing", "bag_front", "bag_back", "belt")
NO_COPY = either("not graded", "forgotten to grade", r"\bcopy")


def wider_dart(sized: SizedPiece) -> SizedPiece:
    """Both legs 6 mm further from the middle of the dart."""
    return slid("dart_in", 6.0)(slid("dart_out", -6.0)(sized))


def leg_elsewhere(sized: SizedPiece) -> SizedPiece:
    """A dart leg that lies on the next edge."""
    cb = sized.edge("cb")
    point = (float(cb.points[5][0]), float(cb.points[5][1]))
    marks = tuple(
        Landmark(m.name, "cb", point, m.kind) if m.name == "dart_cb" else m for m in sized.landmarks
    )
    return replace(sized, landmarks=marks)


UNIT = (
    Mistake(
        "the welt of size 46 in inches",
        T, redraw("welt", scaled(1 / 25.4), "46"),
        INCHES, ("welt", r"\b46\b"), either("centimet", NO_COPY), ("welt", "welt_bag"),
    ),
    Mistake(
        "the belt of size 2XL in centimetres",
        S, redraw("belt", scaled(0.1), "2XL"),
        CENTIMETRES, ("belt", "2XL"), either(INCHES, NO_COPY), SKIRT,
    ),
    Mistake(
        "the fly shield in inches, in every size",
        T, redraw("fly_shield", scaled(1 / 25.4)),
        INCHES, ("fly_shield",), either("centimet", NO_COPY), ("fly_shield", "front"),
    ),
)  # fmt: skip

NEST = (
    Mistake(
        "the fronts of sizes 44 and 46 exchanged",
        T, as_in("front", _44="46", _46="44"),
        SIZES_MIXED, ("front", r"\b4[46]\b"), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "the lower backs of sizes 96 and 102 exchanged",
        G, as_in("lower_back", _96="102", _102="96"),
        SIZES_MIXED, ("lower_back", r"\b(96|102)\b"), UNITS,
        ("lower_back", "upper_back", "lower_front"),
    ),
    Mistake(
        "the skirt back of size L not graded: that of M",
        S, as_in("skirt_back", L="M"),
        NOT_GRADED, ("skirt_back", r"\b[ML]\b"), UNITS, SKIRT,
    ),
    Mistake(
        "the collar of size 102 not graded: that of 96",
        G, as_in("collar", _102="96"),
        NOT_GRADED, ("collar", r"\b(96|102)\b"), UNITS, ("collar", "upper_front", "upper_back"),
    ),
    Mistake(
        "the facing of size L not graded: that of M",
        A, as_in("facing", L="M"),
        NOT_GRADED, ("facing", r"\b[ML]\b"), UNITS, ("facing", "apron"),
    ),
    Mistake(
        "the front of size 48 15 mm wider at the hem",
        T, redraw("front", towards(("hem", "end"), (15.0, 0.0), 120.0), "48"),
        OUT_OF_LINE, ("front", "hem|inseam", r"\b48\b"), either(UNITS, NO_COPY), ("front", "back"),
    ),
    Mistake(
        "the waistband of size 44 12 mm too long",
        T, redraw("waistband", stretched("lower", 12.0, 0.85), "44"),
        OFF, ("waistband", r"\b44\b"), either(UNITS, NO_COPY), TROUSER_LEG,
    ),
    Mistake(
        "the patch pocket of size 118 20 mm wider",
        G, redraw("pocket", stretched("lower", 20.0, 0.3), "118"),
        OUT_OF_LINE, ("pocket", r"\b118\b"), either(UNITS, NO_COPY), ("pocket",),
    ),
    Mistake(
        "the facing of size L 30 mm deeper at the side",
        A, redraw("facing", stretched("facing_side", 30.0, 0.0), "L"),
        OUT_OF_LINE, ("facing", r"\bL\b"), either(UNITS, NO_COPY), ("facing",),
    ),
    Mistake(
        "the opening of size 46 20 mm longer on the front",
        T, redraw("front", stretched("mouth", 20.0, 0.7), "46"),
        OFF, ("mouth|opening", r"\b46\b"), either(UNITS, NO_COPY), TROUSER_LEG,
    ),
    Mistake(
        "the front of size 40 drawn the other side up",
        T, redraw("front", mirrored, "40"),
        MIRRORED, ("front", r"\b40\b"), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "the upper back of size 110 drawn the other side up",
        G, redraw("upper_back", mirrored, "110"),
        MIRRORED, ("upper_back", r"\b110\b"), UNITS, ("upper_back", "upper_front", "lower_back"),
    ),
    Mistake(
        "the facing of size S drawn the other side up",
        A, redraw("facing", mirrored, "S"),
        MIRRORED, ("facing", r"\bS\b"), UNITS, ("apron", "facing"),
    ),
)  # fmt: skip

GRAINS = (
    Mistake(
        "the front of size 44 15 degrees off the grain",
        T, redraw("front", off_grain(15.0), "44"),
        GRAIN, ("front", r"\b44\b"), UNITS, ("front",),
    ),
    Mistake(
        "the upper front of size 110 8 degrees off the grain",
        G, redraw("upper_front", off_grain(-8.0), "110"),
        GRAIN, ("upper_front", r"\b110\b"), UNITS, ("upper_front",),
    ),
    Mistake(
        "the grain of the apron of size L upside down",
        A, redraw("apron", off_grain(180.0), "L"),
        GRAIN, ("apron", r"\bL\b"), UNITS, ("apron",),
    ),
)  # fmt: skip

LEVELS = (
    Mistake(
        "the hip level of the back 30 mm too low in every size",
        T, redraw("back", level_moved("hip", 3.6, -29.8)),
        r"\blevel", ("hip", "back"), UNITS, ("back", "front", "facing"),
    ),
    Mistake(
        "the seat level of the skirt front 30 mm too high in size L",
        S, redraw("skirt_front", level_moved("seat", 0.0, 30.0), "L"),
        r"\blevel", ("seat", "skirt_front", r"\bL\b"), UNITS, SKIRT,
    ),
    Mistake(
        "the waist level of the lower back put through its hem",
        G, redraw("lower_back", level_moved("waist", 0.0, 322.0)),
        r"\blevel", ("waist", "lower_back"), UNITS, ("lower_back", "lower_front", "upper_back"),
    ),
    Mistake(
        "the back without the level on which sizes are laid",
        T, redraw("back", level_lost("crotch")),
        r"\blevel", ("crotch", "back"), UNITS, ("back",),
    ),
)  # fmt: skip

DARTS = (
    Mistake(
        "the tip of the back dart outside the piece",
        T, redraw("back", tip_moved(-12.0, 190.0)),
        either("tip", "outside"), (DART, "back"), UNITS, ("back",),
    ),
    Mistake(
        "the tip of the back dart 25 mm aside in size 44",
        T, redraw("back", tip_moved(25.0, 3.0), "44"),
        either("tip", r"\blegs?\b"), (DART, "back", r"\b44\b"), UNITS, ("back",),
    ),
    Mistake(
        "the legs of the skirt's dart not alike: one 10 mm further out",
        S, redraw("skirt_back", slid("dart_flank", -10.0)),
        either(r"\blegs?\b", "tip"), (DART, "skirt_back"), UNITS, SKIRT,
    ),
    Mistake(
        "the skirt's dart forgotten in size L",
        S, redraw("skirt_back", dart_lost, "L"),
        DART, ("skirt_back", r"\bL\b"), UNITS, SKIRT,
    ),
    Mistake(
        "the back dart of size 48 12 mm wider",
        T, redraw("back", wider_dart, "48"),
        either(OUT_OF_LINE, "wid(e|th)"), (DART, "back", r"\b48\b"), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "a leg of the skirt's dart on the centre back",
        S, redraw("skirt_back", leg_elsewhere),
        DART, ("skirt_back", "dart_cb|top"), UNITS,
    ),
)  # fmt: skip

MARKS = (
    Mistake(
        "the back's hip notch 15 mm too low in size 46",
        T, redraw("back", slid("hip_notch", -15.0), "46"),
        OFF, ("back", "hip_notch", r"\b46\b"), either(UNITS, GRAIN), TROUSER_LEG,
    ),
    Mistake(
        "the armhole notch of the upper front 20 mm away in size 102",
        G, redraw("upper_front", slid("armhole_notch", 20.0), "102"),
        OFF, ("upper_front", "armhole_notch", r"\b102\b"), UNITS, ("upper_front", "upper_back"),
    ),
    Mistake(
        "the tie notch of the apron 40 mm lower in size S",
        A, redraw("apron", slid("notch_tie", -40.0), "S"),
        OFF, ("apron", "notch_tie", r"\bS\b"), UNITS, ("apron",),
    ),
    Mistake(
        "the welt line 20 mm lower in size 46",
        T, redraw("back", lines_moved(2.4, -19.9), "46"),
        OFF, ("back", "welt", r"\b46\b"), UNITS, ("back", "welt", "welt_bag"),
    ),
    Mistake(
        "the pocket's place 25 mm nearer to the centre in size 110",
        G, redraw("lower_front", lines_moved(25.0, 0.0), "110"),
        OFF, ("lower_front", "pocket_(place|corner)", r"\b110\b"), UNITS, ("lower_front",),
    ),
    Mistake(
        "the pocket's place forgotten in size L",
        A, redraw("apron", lines_lost, "L"),
        either("missing", "no ", "without", "not in", "lacks", "expected"),
        ("apron", "pocket_place", r"\bL\b"), UNITS, ("apron",),
    ),
)  # fmt: skip

DRAWN = (*UNIT, *NEST, *GRAINS, *LEVELS, *DARTS, *MARKS)

__all__ = ["DRAWN"]
