"""The first sentence of a summary tells what the outlines themselves tell."""

from __future__ import annotations

import re

import numpy as np
import pytest

import propagate
from propagate.demo import MAIN_JOBS, demo_names
from propagate.io.edits_toml import edit_of_words
from propagate.report.lead_sentence import largest_changes, lead_sentence
from propagate.report.units import INCHES
from tests.shared import demo, in_sizes, main_job

TROUSER = "slant_trouser"
LONGEST = 200


def length(points: np.ndarray) -> float:
    """Length of a polyline, by numpy."""
    return float(np.hypot(*np.diff(np.asarray(points), axis=0).T).sum())


def changed_lines(result: propagate.Result) -> set[str]:
    """Pieces of which a line has another length than in the sizes of the blend."""
    return {
        change.piece
        for change in result.record.pieces
        if any(edge.status == "reshaped" for edge in change.edges)
    }


@pytest.mark.parametrize("name", demo_names())
def test_it_is_short_and_speaks_in_words(name: str) -> None:
    said = lead_sentence(main_job(name))
    assert len(said) <= LONGEST
    assert said.endswith(".")
    assert said[0].isupper() or said[0].isdigit()
    assert "_" not in said
    assert not re.search(r"[+-]\d", said), "a direction is a word, never a sign"


def test_its_figures_are_those_of_the_outlines() -> None:
    """The waists of front and back against those of the size of the hip, by numpy alone."""
    result, pattern = main_job(TROUSER), demo(TROUSER)
    hip = MAIN_JOBS[TROUSER]["hip"]
    before, now = (
        {piece: length(of.sized(piece, size).edge("waist").points) for piece in ("front", "back")}
        for of, size in ((pattern, hip), (result.pattern, result.record.size))
    )
    shorter = {f"{before[piece] - now[piece]:.0f}" for piece in before}
    assert len(shorter) == 1
    assert f"waist of front and back each {shorter.pop()} mm shorter" in lead_sentence(result)
    told = largest_changes(result, INCHES)["back"]
    inches = round(before["back"] / 25.4, 2) - round(now["back"] / 25.4, 2)
    assert told[0] == f"waist {inches:.2f} in shorter"
    assert len(told) == 3


def test_a_pocket_turns_the_way_that_is_seen() -> None:
    """Directions of the line of the opening before and now, each against its grain."""
    result, pattern = main_job(TROUSER), demo(TROUSER)
    angles = []
    for of, size in (
        (pattern, MAIN_JOBS[TROUSER]["waist"]),
        (result.pattern, result.record.size),
    ):
        piece = of.sized("front", size)
        line = piece.edge("mouth").points
        angles.append(np.angle(complex(*(line[-1] - line[0])) / complex(*piece.grain.direction)))
    turn = float(np.degrees(angles[1] - angles[0]))
    way = "anticlockwise" if turn > 0.0 else "clockwise"
    assert f"pocket turned {abs(turn):.0f}° {way}" in lead_sentence(result)


def test_what_is_not_named_is_counted() -> None:
    result = main_job("quay_jeans")
    said = lead_sentence(result)
    also, kept = (int(n) for n in re.findall(r"(\d+) other pieces?", said))
    named = {"front", "back", "yoke"}
    assert named <= changed_lines(result)
    assert also == len({p.piece for p in result.record.pieces if p.status != "same"} - named)
    assert also + kept + len(named) == len(result.pattern.pieces)


def changed(words: str, *sizes: str) -> propagate.Revised:
    """An edit on the trouser in three sizes, or in some of them."""
    word, *said = words.split()
    pattern = in_sizes(demo(TROUSER), ("38", "42", "50"))
    return propagate.apply_edits(pattern, [edit_of_words(word, said)], sizes=sizes)


def test_a_figure_of_all_sizes_is_told_once() -> None:
    assert lead_sentence(changed("lengthen level=knee by=20mm")).startswith(
        "In every size: inseam and side of front and back each 20 mm longer; "
    )


def test_figures_that_differ_from_size_to_size_are_a_range() -> None:
    """Against the lengths of the waistband before and now, by numpy alone."""
    found = changed("raise edge=back.waist by=15mm at=end to=start taper=straight")
    off = [
        length(demo(TROUSER).sized("waistband", size).edge("lower").points)
        - length(found.pattern.sized("waistband", size).edge("lower").points)
        for size in found.records
    ]
    assert f"waistband each {min(off):.1f} to {max(off):.1f} mm shorter" in lead_sentence(found)


def test_one_size_of_several_is_named() -> None:
    found = changed("raise edge=back.waist by=15mm at=end to=start taper=straight", "42")
    assert lead_sentence(found).startswith("In size 42: centre of back 15 mm longer, ")


def test_a_dart_is_told_by_its_width_and_no_edge_by_its_mouth() -> None:
    found = changed("widen-dart dart=back.dart by=6mm to=hip", "42")
    mouths = []
    for pattern in (demo(TROUSER), found.pattern):
        back = pattern.sized("back", "42")
        legs = [back.distance("waist", leg) for leg in back.darts[0].legs]
        mouths.append(round(abs(legs[1] - legs[0]), 1))
    assert f": dart of back {mouths[1] - mouths[0]:.1f} mm wider" in lead_sentence(found)
    assert not any(told.startswith("waist 7") for told in largest_changes(found)["back"])


def test_an_edit_that_moves_no_line_says_so() -> None:
    assert lead_sentence(changed("allow edge=back.centre to=20mm")) == "No seam line changed."
