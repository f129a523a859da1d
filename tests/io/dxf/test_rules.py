"""Grade rules: the arithmetic by hand, the file's syntax, what is written.

The syntax of the rule file and of rule numbers is from memory.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from propagate.errors import FormatError
from propagate.io.dxf import ReadOptions, WriteOptions, read, write
from propagate.io.dxf.rules import looks_stepwise, parse_rules, read_moves, render_rules, tell_steps
from propagate.io.origin import source_of
from propagate.pattern.patternset import PatternSet
from tests.builders import tiny_set, with_sized
from tests.io.dxf.hand import (
    METRIC,
    insert,
    line,
    piece,
    point,
    points,
    polyline,
    save,
    style,
    text,
)

RULES = """\
ASTM/D13Proposal 1 Version: D 6673-04
AUTHOR: EXAMPLE
CREATION DATE: 01-02-2025
CREATION TIME: 10:00
UNITS: METRIC
GRADE RULE TABLE: DEMO TROUSER
NUMBER OF SIZES: 4
SIZE LIST: 34 36 38 40
SAMPLE SIZE: 38
RULE: DELTA 1
 0.00, 0.00   0.00, 0.00   0.00, 0.00   0.00, 0.00
RULE: DELTA 2
 -20.00, 0.00  -10.00, 0.00   0.00, 0.00   10.00, 0.00
RULE: DELTA 3
 -20.00, -8.00  -10.00, -4.00   0.00, 0.00   10.00, 4.00
RULE: DELTA 4
 0.00, -8.00  0.00, -4.00   0.00, 0.00   0.00, 4.00
END
"""
# a front of 300 x 500 with a curve point in the middle of each upright side
OUTLINE = ((0, 0), (300, 0), (310, 250), (300, 500), (0, 500), (0, 200))
CORNERS = ((0, 0), (300, 0), (300, 500), (0, 500))
NUMBERS = tuple(
    text("2", at, f"# {number}") for at, number in zip(CORNERS, (1, 2, 3, 4), strict=True)
)


def front(*more: str, numbers: tuple[str, ...] = NUMBERS, outline: object = OUTLINE) -> str:
    boundary = polyline("1", outline) + points("2", CORNERS)  # type: ignore[arg-type]
    boundary += points("3", ((310, 250), (0, 200)))
    return piece(*numbers, *more, boundary=boundary)


def four_sizes(
    folder: Path, block: str | None = None, rules: str = RULES, options: ReadOptions | None = None
) -> tuple[PatternSet, list[str]]:
    path = save(folder / "style.dxf", style([block or front()], METRIC, insert("front-38")))
    save(folder / "style.rul", rules)
    pattern, report = read(path, options)
    return pattern, [str(note) for note in report.lines]


def places(pattern: PatternSet, size: str) -> list[list[float]]:
    return np.round(pattern.sized("front", size).outline, 6).tolist()


def test_four_sizes_worked_by_hand(tmp_path: Path) -> None:
    """Corners by their rules; points between, by their share of the edge.

    In size 34 corner 2 moves by (-20, 0) and corner 3 by (-20, -8).  The curve point at
    (310, 250) lies half way along their edge (both chords measure the same): (-20, -4).
    The point at (0, 200) lies 300 mm of 500 along the left edge from corner 4, which moves
    by (0, -8), to corner 1, which stays: it keeps 200/500 of it: -3.2.
    """
    pattern, _ = four_sizes(tmp_path)
    assert pattern.sizes == ("34", "36", "38", "40")
    assert pattern.base == "38"
    assert places(pattern, "38") == [list(map(float, p)) for p in OUTLINE]
    assert places(pattern, "34") == [
        [0, 0], [280, 0], [290, 246], [280, 492], [0, 492], [0, 196.8],
    ]  # fmt: skip
    assert places(pattern, "36") == [
        [0, 0], [290, 0], [300, 248], [290, 496], [0, 496], [0, 198.4],
    ]  # fmt: skip
    assert places(pattern, "40") == [
        [0, 0], [310, 0], [320, 252], [310, 504], [0, 504], [0, 201.6],
    ]  # fmt: skip


def test_the_other_reading_of_deltas_is_an_option(tmp_path: Path) -> None:
    """Stepwise, size 34 is 20 mm smaller than size 36, which is 10 mm smaller than 38."""
    pattern, notes = four_sizes(tmp_path, options=ReadOptions(dxf={"deltas": "stepwise"}))
    assert places(pattern, "34")[1] == [270, 0]
    assert places(pattern, "36")[1] == [290, 0]
    assert places(pattern, "40")[1] == [310, 0]
    assert any("stepwise" in note for note in notes)


def test_equal_steps_on_one_side_are_pointed_out(tmp_path: Path) -> None:
    stepwise = RULES.replace("-20.00, 0.00  -10.00", "-10.00, 0.00  -10.00").replace(
        "-20.00, -8.00", "-10.00, -4.00"
    )
    stepwise = stepwise.replace("0.00, -8.00  0.00, -4.00", "0.00, -4.00  0.00, -4.00")
    table = parse_rules(stepwise, "x.rul")
    assert looks_stepwise(table)
    assert not looks_stepwise(parse_rules(RULES, "x.rul"))
    _, notes = four_sizes(tmp_path, rules=stepwise)
    assert any("warning" in note and "size to size" in note for note in notes)


def test_steps_and_displacements_undo_each_other() -> None:
    table = parse_rules(RULES, "x.rul")
    for number in table.rules:
        whole = read_moves(table, number, "stepwise")
        assert np.allclose(tell_steps(whole, 2, "stepwise"), table.rules[number], atol=1e-12)


def test_a_point_without_a_number_is_not_a_point_that_stays(tmp_path: Path) -> None:
    fixed = text("3", (0, 200), "# 1")  # the same point, graded to stay
    carried, _ = four_sizes(tmp_path)
    held, _ = four_sizes(tmp_path, front(fixed))
    assert places(carried, "34")[5] == [0, 196.8]
    assert places(held, "34")[5] == [0, 200]


@pytest.mark.parametrize("turn", [90.0, -30.0, 180.0])
def test_deltas_act_in_the_frame_of_the_grade_line(turn: float, tmp_path: Path) -> None:
    """The whole drawing is turned with its grade line: the sizes turn with it."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def turned(at: tuple[float, float]) -> tuple[float, float]:
        return float(cos * at[0] - sin * at[1]), float(sin * at[0] + cos * at[1])

    corners = [turned(at) for at in CORNERS]
    block = piece(
        *(text("2", at, f"# {n}") for at, n in zip(corners, (1, 2, 3, 4), strict=True)),
        line("5", turned((50, 50)), turned((150, 50))),
        line("7", turned((100, 100)), turned((100, 300))),
        boundary=polyline("1", [turned(at) for at in OUTLINE]) + points("2", corners),
    )
    pattern, _ = four_sizes(tmp_path, block)
    expected = [turned((280, 492)), turned((280, 0))]
    found = pattern.sized("front", "34").outline
    for at in expected:
        assert np.hypot(*(found - at).T).min() < 1e-9
    flat, _ = four_sizes(tmp_path, block, options=ReadOptions(dxf={"axis": "drawing"}))
    moved = flat.sized("front", "34").outline
    assert np.hypot(*(moved - expected[0]).T).min() > 5.0


def test_notches_and_drill_holes_are_graded(tmp_path: Path) -> None:
    """A notch without a number is carried with its edge, a numbered drill by its rule."""
    extra = (
        point("4", (150, 0)),
        point("13", (100, 400)),
        text("13", (100, 400), "# 2"),
        point("13", (50, 60)),
    )
    pattern, notes = four_sizes(tmp_path, front(*extra))
    sized = pattern.sized("front", "34")
    assert sized.landmark("notch_1").point == pytest.approx((140, 0))  # half of -20
    assert [mark.point for mark in sized.drills] == [pytest.approx((80, 400)), (50, 60)]
    assert any("1 point inside the piece without a rule number" in note for note in notes)


def test_a_seam_line_without_numbers_follows_the_graded_cut_line(tmp_path: Path) -> None:
    inner = ((10, 10), (290, 10), (290, 490), (10, 490))
    pattern, notes = four_sizes(tmp_path, front(polyline("14", inner), outline=CORNERS))
    seam = pattern.sized("front", "34").outline
    # corner to corner: (290, 490) moves as corner 3, (10, 490) as corner 4
    assert np.abs(seam - [[10, 10], [270, 10], [270, 482], [10, 482]]).max() < 1e-9
    assert any("(290.0, 490.0) as (300.0, 500.0), rule 3" in note for note in notes)


def test_a_rule_that_is_not_in_the_table_is_named(tmp_path: Path) -> None:
    numbers = (*NUMBERS[:3], text("2", CORNERS[3], "# 77"))
    pattern, notes = four_sizes(tmp_path, front(numbers=numbers))
    assert any("rule 77 is used" in note for note in notes)
    assert len(pattern.sized("front", "34").edges) == 4


def test_numbers_without_a_rule_file_give_the_drawn_size(tmp_path: Path) -> None:
    path = save(tmp_path / "style.dxf", style([front()], METRIC, insert("front-38")))
    pattern, report = read(path)
    assert pattern.sizes == ("38",)
    assert any("no rule file" in note.text for note in report.of("warning"))
    assert not any("#" in note.text for note in report.of("warning"))


def test_rules_in_inches_move_a_drawing_in_inches(tmp_path: Path) -> None:
    path = tmp_path / "style.dxf"
    inches = [(x / 25.4, y / 25.4) for x, y in CORNERS]
    block = piece(
        *(text("2", at, f"# {n}") for at, n in zip(inches, (1, 2, 3, 4), strict=True)),
        boundary=polyline("1", inches) + points("2", inches),
    )
    save(path, style([block], METRIC.replace("METRIC", "ENGLISH"), insert("front-38")))
    save(path.with_suffix(".rul"), RULES.replace("METRIC", "ENGLISH").replace("20.00", "0.50"))
    pattern, _ = read(path)
    source = source_of(pattern)
    assert source is not None and source.unit_mm == 25.4
    assert places(pattern, "34")[1] == [300 - 12.7, 0]  # half an inch


def test_four_sizes_in_inches_worked_by_hand(tmp_path: Path) -> None:
    """A drawing in mm, its rules in eighths of the international inch (25.4 mm exactly).

    Corner 3 moves by (-1/2, -1/4) in size 34, which is (-12.7, -6.35) mm, by half of it in
    size 36, and by (1/4, 1/8) in size 40: (6.35, 3.175) mm.  Corner 2 takes the x, corner 4
    the y of it.
    """
    rules = RULES.replace("METRIC", "ENGLISH")
    for metric, inches in (
        ("-20.00", "-0.50"), ("-10.00", "-0.25"), ("10.00", "0.25"),
        ("-8.00", "-0.25"), ("-4.00", "-0.125"), ("4.00", "0.125"),
    ):  # fmt: skip
        rules = re.sub(rf"(?<![\d.-]){re.escape(metric)}", inches, rules)
    pattern, _ = four_sizes(tmp_path, front(outline=CORNERS), rules)
    assert places(pattern, "34") == [[0, 0], [287.3, 0], [287.3, 493.65], [0, 493.65]]
    assert places(pattern, "36") == [[0, 0], [293.65, 0], [293.65, 496.825], [0, 496.825]]
    assert places(pattern, "38") == [list(map(float, p)) for p in CORNERS]
    assert places(pattern, "40") == [[0, 0], [306.35, 0], [306.35, 503.175], [0, 503.175]]


# -------------------------------------------------------------------------------- syntax


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("  -10.00", "\n\n  -10.00"),  # pairs, not lines, count
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("SIZE LIST:", "size list  :").replace("RULE:", "Rule :"),
        lambda text: text.replace(", ", ",").replace(".00", ""),
        lambda text: text.replace("DELTA 2", "DELTA 0002"),
        lambda text: text.replace("34 36 38 40", "34 36\n 38 40"),
        lambda text: "\ufeff" + text,
    ],
)
def test_a_rule_file_is_read_loosely(change: object) -> None:
    plain = parse_rules(RULES, "x.rul")
    loose = parse_rules(change(RULES), "x.rul")  # type: ignore[operator]
    assert loose.problems == ()
    assert (loose.sizes, loose.sample) == (plain.sizes, plain.sample)
    assert loose.rules.keys() == plain.rules.keys()
    assert all((loose.rules[n] == plain.rules[n]).all() for n in plain.rules)


def test_decimal_commas_are_understood() -> None:
    commas = RULES.replace(", ", " ; ").replace(".", ",").replace(" ;", ",")
    found = parse_rules(commas, "x.rul")
    assert found.rules["3"].tolist() == [[-20, -8], [-10, -4], [0, 0], [10, 4]]


def test_what_cannot_be_read_is_said() -> None:
    short = RULES.replace("10.00, 4.00\n", "\n", 1)
    assert any("rule 3: found 3 pairs" in p for p in parse_rules(short, "x.rul").problems)
    assert any("END" in p for p in parse_rules(RULES[:-4], "x.rul").problems)
    for broken, word in (
        ("", "SIZE LIST"),
        (RULES.replace("SAMPLE SIZE: 38", "SAMPLE SIZE: 99"), "99"),
        (RULES.replace("34 36 38 40", "34 36 38 38"), "twice"),
    ):
        with pytest.raises(FormatError, match=word):
            parse_rules(broken, "x.rul")


def test_a_table_written_is_read_back_alike() -> None:
    table = parse_rules(RULES, "x.rul")
    again = parse_rules(render_rules(table), "x.rul")
    assert again.sizes == table.sizes and again.sample == table.sample
    assert all((again.rules[n] == table.rules[n]).all() for n in table.rules)


# ------------------------------------------------------------------------------- writing


def test_written_rules_reproduce_each_size_by_plain_arithmetic(tmp_path: Path) -> None:
    """Numbered points of the drawing, plus the file's deltas, read by ezdxf and by hand."""
    pattern = tiny_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, WriteOptions(kind="rules"))
    rules: dict[str, list[list[float]]] = {}
    for part in path.with_suffix(".rul").read_text().split("RULE: DELTA ")[1:]:
        number, _, body = part.partition("\n")
        values = [float(v) for v in body.replace("END", "").replace(",", " ").split()]
        rules[number] = [values[i : i + 2] for i in range(0, len(values), 2)]
    block = ezdxf.readfile(path).blocks["front"]
    corners = 0
    for size_at, size in enumerate(pattern.sizes):
        sized = pattern.sized("front", size)
        base = pattern.sized("front", pattern.base)
        for label in block.query("TEXT"):
            if not label.dxf.text.startswith("#") or label.dxf.layer != "2":
                continue
            at = np.array([label.dxf.insert.x, label.dxf.insert.y])
            for a, b in zip(base.edges, sized.edges, strict=True):
                if np.hypot(*(a.points[0] - at)) < 0.001:
                    moved = at + rules[label.dxf.text[2:]][size_at]
                    assert np.hypot(*(moved - b.points[0])) <= 0.01
                    corners += 1
    assert corners >= 4 * len(pattern.sizes)


def test_a_piece_whose_sizes_differ_in_corners_is_written_in_every_size(tmp_path: Path) -> None:
    pattern = tiny_set()
    front = pattern.sized("front", "40")
    bent = replace(front.edge("side"), turns=(5,))
    edges = tuple(bent if e.name == "side" else e for e in front.edges)
    pattern = with_sized(pattern, "front", "40", replace(front, edges=edges))
    path = tmp_path / "style.dxf"
    report = write(pattern, path, WriteOptions(kind="rules"))
    assert (report.ruled, report.nested) == (("back",), ("front",))
    assert any("grade rules would not hold" in n.text and "front" in n.text for n in report.lines)
    back, _ = read(path)
    source = source_of(back)
    assert source is not None
    assert {block.piece for block in source.blocks if block.size is None} == {"back"}
    assert back.sized("front", "40").edge("side").turns == (5,)


def test_the_same_deltas_share_a_number(tmp_path: Path) -> None:
    pattern = tiny_set()
    path = tmp_path / "style.dxf"
    write(pattern, path, WriteOptions(kind="rules"))
    table = parse_rules(path.with_suffix(".rul").read_text(), "x")
    keys = {values.tobytes() for values in table.rules.values()}
    assert len(keys) == len(table.rules)
