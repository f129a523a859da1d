"""Mistakes in how the pieces are joined: seams, layers, levels, bands, girths, blends."""

from __future__ import annotations

from dataclasses import replace

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import LegPlan, Place, Seam, parse_run
from tests.review.changes import (
    Change,
    add,
    in_turn,
    layer,
    leave_out,
    main,
    plan,
    relate,
    zone,
)
from tests.review.judge import Mistake
from tests.review.words import (
    AGAINST,
    CHART,
    EXCHANGED,
    FOLD,
    MIRRORED,
    NOTHING,
    TWICE,
    UNITS,
    WRONG_EDGE,
    either,
)

T, S, G, A = "slant_trouser", "scoop_skirt", "workshop_gilet", "garden_apron"
TROUSER_LEG = ("front", "back", "facing", "under_bag", "top_bag", "waistband")
SKIRT = ("skirt_front", "skirt_back", "pocket_facing", "bag_front", "bag_back", "belt")
PUT = either(r"\bput\b", EXCHANGED, "other end", "wrong end", "wrong way round", "off the opening")
POCKET = "front_pocket_layers"
SCOOP = "scoop_pocket_layers"


def taped(piece: str, put: tuple[tuple[str, str], ...]) -> Change:
    """Tape a part of the full front by other landmarks."""

    def change(pattern: PatternSet) -> PatternSet:
        parts = tuple(
            replace(part, put=put) if part.piece == piece else part
            for part in pattern.relations.assemblies["full_front"].parts
        )
        return relate("assemblies", "full_front", parts=parts)(pattern)

    return change


def without_zone(band: str, name: str, follower: str, begin: str) -> Change:
    """Leave a zone out; the one that follows begins where it began."""

    def change(pattern: PatternSet) -> PatternSet:
        zones = tuple(one for one in pattern.relations.bands[band].zones if one.name != name)
        return zone(band, follower, begin=begin)(relate("bands", band, zones=zones)(pattern))

    return change


SEAMS = (
    Mistake(
        "the side seam written backwards",
        T, relate("seams", "side_seam", follow=parse_run("back.side")),
        AGAINST, ("side_seam",), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "a waist seam without notches written backwards",
        G, relate("seams", "back_waist_seam", follow=parse_run("lower_back.waist")),
        AGAINST, ("back_waist_seam",), UNITS, ("upper_back", "lower_back"),
    ),
    Mistake(
        "the seam of apron and facing written backwards",
        A, relate("seams", "scoop_seam", follow=parse_run("facing.facing_scoop reversed")),
        AGAINST, ("scoop_seam",), UNITS, ("apron", "facing"),
    ),
    Mistake(
        "the notches of the side seam crossed: hip on knee",
        T, relate("seams", "side_seam", notches=(
            ("front.hip_notch", "back.knee_notch_side"),
            ("front.knee_notch_side", "back.hip_notch"),
        )),
        either(EXCHANGED, "cross", "order"), ("notch", "side_seam|hip_notch"),
        "backwards", TROUSER_LEG,
    ),
    Mistake(
        "the seat notches not paired in the flank seam",
        S, relate("seams", "flank_seam", notches=()),
        either("pair", "partner", "not matched", "meets no", "no notch"),
        ("seat_notch", "flank_seam|flank"), UNITS, SKIRT,
    ),
    Mistake(
        "the inseam left out", T, leave_out("seams", "inseam"),
        NOTHING, ("front|back", "inseam"), UNITS, ("front", "back"),
    ),
    Mistake(
        "the shoulder seam left out", G, leave_out("seams", "shoulder_seam"),
        NOTHING, ("upper_front|upper_back", "shoulder"), UNITS, ("upper_front", "upper_back"),
    ),
    Mistake(
        "the belt not said to be sewn to the waist", S, leave_out("bands", "belt_fit"),
        NOTHING, (r"belt|skirt_back\.top|skirt_back.*top|skirt_front.*top",), UNITS, SKIRT,
    ),
    Mistake(
        "the shoulder seam listed twice, under two names",
        G, add("seams", Seam(
            "left_shoulder", parse_run("upper_front.shoulder reversed"),
            parse_run("upper_back.shoulder"),
        )),
        TWICE, ("shoulder_seam|left_shoulder", "upper_front|upper_back"),
        UNITS, ("upper_front", "upper_back"),
    ),
    Mistake(
        "the centre back sewn to the fold of the front",
        S, add("seams", Seam(
            "centre", parse_run("skirt_back.cb"), parse_run("skirt_front.fold_line reversed"),
        )),
        FOLD, ("fold_line", "skirt_front"), UNITS, SKIRT,
    ),
    Mistake(
        "the back's side in place of its inseam",
        T, relate("seams", "inseam", follow=parse_run("back.side"), notches=(), crossing={}),
        either(TWICE, NOTHING, WRONG_EDGE), ("back", "side|inseam"), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "the facing's side in place of its top",
        A, relate("seams", "top_seam", follow=parse_run("facing.facing_side")),
        either(NOTHING, WRONG_EDGE), ("facing_side|facing_top",), UNITS, ("apron", "facing"),
    ),
    Mistake(
        "the lower back in place of the upper back above the waist",
        G, relate(
            "seams", "upper_side_seam", follow=parse_run("lower_back.side"), crossing={}
        ),
        either(TWICE, NOTHING, WRONG_EDGE), ("lower_back|upper_back", "side"), UNITS,
        ("lower_back", "upper_back", "upper_front", "lower_front"),
    ),
)  # fmt: skip

LAYERS = (
    Mistake(
        "the ends of the top bag's mouth exchanged",
        T, layer(POCKET, "top_bag", put=(
            ("mouth.start", "mouth.start"), ("mouth.end", "mouth.end"),
        )),
        PUT, ("top_bag",), either(UNITS, "grade"), TROUSER_LEG,
    ),
    Mistake(
        "the ends of the facing exchanged in the pocket",
        S, layer(SCOOP, "pocket_facing", put=(
            ("scoop_low", "scoop.start"), ("scoop_top", "scoop.end"),
        )),
        PUT, ("pocket_facing",), either(UNITS, "grade"), SKIRT,
    ),
    Mistake(
        "the ends of the facing exchanged where it is taped to the front",
        T, taped("facing", (("mouth_low", "mouth.start"), ("mouth_top", "mouth.end"))),
        PUT, ("facing", "full_front"), either(UNITS, "grade"), TROUSER_LEG,
    ),
    Mistake(
        "face_down forgotten on the top bag",
        T, layer(POCKET, "top_bag", face_down=False),
        either("face.down", MIRRORED), ("top_bag",), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "face_down forgotten on the under bag",
        S, layer(SCOOP, "bag_back", face_down=False),
        either("face.down", MIRRORED), ("bag_back",), UNITS, SKIRT,
    ),
    Mistake(
        "the under bag joined to nothing at all",
        S, in_turn(layer(SCOOP, "bag_back"), leave_out("seams", "bag_seam")),
        NOTHING, ("bag_back|bag_front",), UNITS, SKIRT,
    ),
    Mistake(
        "the ends of the opening exchanged",
        T, relate("openings", "front_pocket", across_end="end", side_end="start"),
        either(EXCHANGED, "across_end", "side_end", "expected"), ("front_pocket",), UNITS,
    ),
)  # fmt: skip

BLENDS = (
    Mistake(
        "centre and side of the full front exchanged",
        T, main("full_front", centre="side", side="centre"),
        either(EXCHANGED, "expected", WRONG_EDGE), ("full_front", "centre", "side"),
        either(UNITS, "nearer sizes"), TROUSER_LEG,
    ),
    Mistake(
        "centre and side of the lower back exchanged",
        G, main("lower_back", centre="side", side="centre"),
        either(EXCHANGED, "expected", WRONG_EDGE), ("lower_back", "centre", "side"),
        either(UNITS, "nearer sizes"),
    ),
    Mistake(
        "the upper and the lower level of the blend exchanged",
        S, plan(upper="seat", lower="natural_waist"),
        either(EXCHANGED, "above", "below", "higher", "lower than"),
        ("seat", "natural_waist"), UNITS,
    ),
    Mistake(
        "level and hold of the leg exchanged",
        T, plan(leg=LegPlan("thigh", "knee", ("side", "inseam"))),
        either(EXCHANGED, "above", "below", "higher", "lower than"), ("thigh", "knee"), UNITS,
    ),
    Mistake(
        "the inseam given as the seam that joins the mains at their sides",
        T, plan(seam="inseam"),
        either("blend", "mains?"), ("inseam", "side"), UNITS,
    ),
    Mistake(
        "the welts taken in the size of the knee",
        T, relate("places", "welt", level="knee"),
        either("level", "place", "size of"), ("welt", "knee"), UNITS, ("welt", "welt_bag", "back"),
    ),
    Mistake(
        "the upper front taken in the size of the hip, the upper back in that of the waist",
        G, add("places", Place("upper_front", "hip")),
        either("level", "place", "size of"), ("upper_front", "hip"), UNITS,
        ("upper_front", "upper_back", "lower_front", "armhole_binding", "collar", "zip_guard"),
    ),
)  # fmt: skip

BANDS = (
    Mistake(
        "the waistband's zone on the right facing left out",
        T, without_zone("waistband_fit", "right_facing", "right_back", "pocket_right"),
        either("zone", NOTHING, "once", "left out", "missing"),
        (r"waistband|right_back", "facing"), UNITS, TROUSER_LEG,
    ),
    Mistake(
        "the runs of two zones of the belt exchanged",
        S, in_turn(
            zone("belt_fit", "right_back", run=parse_run(
                ["pocket_facing.top from end to scoop_top", "skirt_front.top reversed"]
            )),
            zone("belt_fit", "right_front", run=parse_run("skirt_back.top reversed")),
        ),
        either(EXCHANGED, "order", "does not follow", "next to", "not meet"),
        ("belt", "right_back|right_front"), UNITS, SKIRT,
    ),
    Mistake(
        "the collar's front zone on the back's neck once more",
        G, zone("collar_fit", "front", run=parse_run("upper_back.neck reversed")),
        either(TWICE, NOTHING), ("upper_back|upper_front", "neck"), UNITS,
        ("collar", "upper_back", "upper_front"),
    ),
    Mistake(
        "a zone of the binding written backwards",
        G, zone("armhole_binding_fit", "back", run=parse_run("upper_back.armhole reversed")),
        AGAINST, ("armhole_binding", "back"), UNITS,
        ("armhole_binding", "upper_back", "upper_front"),
    ),
)  # fmt: skip

GIRTHS = (
    Mistake(
        "the waist girth without the facing's part",
        S, relate("girths", "natural_waist", runs=(
            parse_run("skirt_front.top"), parse_run("skirt_back.top"),
        )),
        either("girth", "counts", CHART), ("natural_waist", "pocket_facing|smaller|less|short"),
        UNITS, SKIRT,
    ),
    Mistake(
        "the waist counted four times",
        T, relate("girths", "waist", times=4),
        either("times", r"\b4\b", "four", "twice", "double"), ("girth", "waist"), UNITS,
    ),
    Mistake(
        "the seat girth without the back",
        S, relate("girths", "seat", silhouettes=("full_front",)),
        either("girth", "counts", CHART), ("seat", "skirt_back|smaller|less|half|short"),
        UNITS, SKIRT,
    ),
)  # fmt: skip

JOINED = (*SEAMS, *LAYERS, *BLENDS, *BANDS, *GIRTHS)

__all__ = ["JOINED"]
