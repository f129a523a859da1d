"""Mistakes in what people write of pieces and sizes: allowances, cutting, chart, sizes."""

from __future__ import annotations

from pathlib import Path

from tests.review.changes import (
    allow,
    chart,
    only_in,
    order,
    relate,
    rows,
    say,
    turn_up,
    zone,
)
from tests.review.judge import Mistake
from tests.review.words import (
    ALLOWANCE,
    CENTIMETRES,
    CHART,
    CUT,
    EASE,
    EXCHANGED,
    FOLD,
    INCHES,
    ORDER,
    PAIR,
    TOLERANCE,
    UNITS,
    either,
)

T, S, G, A = "slant_trouser", "scoop_skirt", "workshop_gilet", "garden_apron"


def rewritten(old: str, new: str, file: str = "set.toml"):  # type: ignore[no-untyped-def]
    """Write something else in a file of the set."""

    def edit(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text, old
        (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")

    return edit


ALLOWANCES = (
    Mistake(
        "the allowance of the back's side written 100 for 10",
        T, allow("back", side=100.0),
        ALLOWANCE, ("back", "side", "100"), "", ("back", "front", "facing"),
    ),
    Mistake(
        "the front's hem allowance written 4, in centimetres",
        T, allow("front", hem=4.0),
        ALLOWANCE, ("front", "hem", r"\b4\b"), "", ("front", "back"),
    ),
    Mistake(
        "the skirt front's allowance written 1, in centimetres",
        S, allow("skirt_front", default=1.0),
        ALLOWANCE, ("skirt_front", r"\b1\b"),
    ),
    Mistake(
        "the allowance of the pocket's turned-in top 2.5, in centimetres",
        A, allow("pocket", top=2.5),
        ALLOWANCE, ("pocket", r"2\.5"), "", ("pocket",),
    ),
    Mistake(
        "the fold of the skirt front given the allowance of a seam",
        S, allow("skirt_front", fold_line=10.0),
        ALLOWANCE, ("skirt_front", FOLD), "", ("skirt_front",),
    ),
    Mistake(
        "the bound armhole of the back given the allowance of a seam",
        G, allow("upper_back", armhole=10.0),
        ALLOWANCE, ("upper_back", "armhole"), "", ("upper_back", "upper_front", "armhole_binding"),
    ),
    Mistake(
        "the skirt back's flank folded up like a hem, in place of the foot",
        S, turn_up("skirt_back", "flank"),
        either("turned", "turn(ed)? up", "folded", "hem"), ("skirt_back", "flank"),
        "", ("skirt_back", "skirt_front", "pocket_facing"),
    ),
)  # fmt: skip

TOLERANCES = (
    Mistake(
        "a tolerance of 150 on the side seam",
        T, relate("seams", "side_seam", tolerance=150.0),
        TOLERANCE, ("side_seam", r"\b150"), "", ("front", "back", "facing"),
    ),
    Mistake(
        "a tolerance of 15 on the flank seam",
        S, relate("seams", "flank_seam", tolerance=15.0),
        TOLERANCE, ("flank_seam", r"\b15\b"), "", ("skirt_front", "skirt_back", "pocket_facing"),
    ),
    Mistake(
        "a tolerance of 30 on the pocket opening",
        S, relate("openings", "scoop_pocket", tolerance=30.0),
        TOLERANCE, ("scoop_pocket", r"\b30\b"),
    ),
    Mistake(
        "the ease of a zone of the belt ten times too much",
        S, zone("belt_fit", "right_back", ease=30.0),
        EASE, ("belt", "right_back", r"\b30\b"), "", ("belt", "skirt_back"),
    ),
    Mistake(
        "the ease of a zone of the belt with the wrong sign",
        S, zone("belt_fit", "left_back", ease=-3.0),
        EASE, ("belt", "left_back", r"[-−]3|sign|minus|negative|below (0|zero|nothing)"),
        "", ("belt", "skirt_back"),
    ),
    Mistake(
        "an ease of 10 where both edges are drawn alike",
        A, relate("seams", "scoop_seam", ease=10.0),
        EASE, ("scoop_seam", r"\b10\b"), "", ("apron", "facing"),
    ),
)  # fmt: skip

CUTTING = (
    Mistake(
        "the fold laid on the scoop, a curve that is sewn",
        S, say("skirt_front", fold="scoop"),
        FOLD, ("skirt_front", "scoop"), "", ("skirt_front", "bag_front"),
    ),
    Mistake(
        "the fold laid on the side, which is straight but sewn",
        G, say("upper_back", fold="side"),
        FOLD, ("upper_back", "side"), "", ("upper_back", "upper_front"),
    ),
    Mistake(
        "the fold of the lower back forgotten: half a back is cut",
        G, say("lower_back", fold=None),
        either(FOLD, CUT), ("lower_back",), UNITS, ("lower_back", "upper_back", "lower_front"),
    ),
    Mistake(
        "the pair of the fronts forgotten: two alike",
        T, say("front", pair=False), PAIR, ("front",), UNITS, ("front",),
    ),
    Mistake(
        "the pair of the under bags forgotten",
        S, say("bag_back", pair=False), PAIR, ("bag_back",), UNITS, ("bag_back", "bag_front"),
    ),
    Mistake(
        "one back to be cut where two are sewn",
        T, say("back", cut=1, pair=False),
        CUT, ("back",), UNITS, ("back", "front", "facing"),
    ),
    Mistake(
        "one lower front to be cut, beside two upper fronts",
        G, say("lower_front", cut=1, pair=False),
        CUT, ("lower_front",), UNITS, ("lower_front", "upper_front", "lower_back"),
    ),
)  # fmt: skip

CHARTS = (
    Mistake(
        "the waist row of the chart in centimetres",
        T, chart("waist", lambda _, mm: mm / 10),
        CENTIMETRES, (CHART, "waist"), INCHES,
    ),
    Mistake(
        "one hip of the chart in inches",
        T, chart("hip", only_in("46", lambda mm: round(mm / 25.4, 2))),
        INCHES, (CHART, "hip", r"\b46\b"), CENTIMETRES,
    ),
    Mistake(
        "two waists of the chart exchanged",
        S, chart("natural_waist", lambda z, mm: {"M": 780.0, "L": 740.0}.get(z, mm)),
        either(EXCHANGED, "order", "grow", "smaller", "larger", "out of line"),
        (CHART, "natural_waist", r"\b[ML]\b"), UNITS,
    ),
    Mistake(
        "a wrong digit in the chest row: 1120 for 1020",
        G, chart("chest", only_in("102", lambda _: 1120.0)),
        either("digit", "typ", "order", "grow", "smaller", "larger", "out of line", "jump", "step"),
        (CHART, "chest", r"\b(102|110)\b"), UNITS,
    ),
    Mistake(
        "the waist and hip rows of the chart exchanged",
        T, rows(waist="hip", hip="waist"),
        either(EXCHANGED, "smaller", "larger", "more than", "less than", "(an)?other row"),
        (CHART, "waist|hip"), UNITS,
    ),
)  # fmt: skip

SIZES = (
    Mistake(
        "sizes 40 and 42 listed in the wrong order",
        T, order("36", "38", "42", "40", "44", "46", "48", "50", "52"),
        ORDER, (r"\b4[02]\b", "size"), either(UNITS, "inch"),
    ),
    Mistake(
        "the sizes listed from the largest to the smallest",
        S, order("3XL", "2XL", "XL", "L", "M", "S", "XS"),
        ORDER, ("size",), UNITS,
    ),
    Mistake(
        "the base size listed before the smallest",
        A, order("M", "S", "L"), ORDER, ("size", r"\b[SM]\b"), UNITS,
    ),
)  # fmt: skip

FILES = (
    Mistake(
        "the DXF said to be in inches",
        G, rewritten('deltas = "from sample"', 'deltas = "from sample"\nunit = "in"'),
        either(INCHES, r"\bunit\b"), ("dxf",), "tenths", (), True,
    ),
    Mistake(
        "the DXF said to be in centimetres",
        G, rewritten('deltas = "from sample"', 'deltas = "from sample"\nunit = "cm"'),
        either(CENTIMETRES, r"\bunit\b"), ("dxf",), "tenths", (), True,
    ),
    Mistake(
        "the grade rules read from size to size, though they are from the sample size",
        G, rewritten('"from sample"', '"stepwise"'),
        either("deltas", "grade rule", "from sample", "stepwise", "grading", CHART),
        (), UNITS, (), True,
    ),
)  # fmt: skip

SAID = (*ALLOWANCES, *TOLERANCES, *CUTTING, *CHARTS, *SIZES, *FILES)

__all__ = ["SAID"]
