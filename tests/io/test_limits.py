"""What is too large, too deep or damaged in our own files is refused, with the place and soon."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

import propagate
from propagate.errors import FormatError, InvalidSet, PropagateError
from propagate.io import reading
from propagate.io.checks import is_name, show_value
from propagate.io.clean_names import clean_name
from propagate.io.dxf.rules import parse_rules
from propagate.io.folder import load
from propagate.io.geometry_json import load_piece
from propagate.io.record_json import read_record
from propagate.io.set_toml import parse_set
from propagate.lengths import parse_length
from propagate.pattern.validate import find_problems
from propagate.tolerances import FARTHEST_MM
from tests.builders import TINY_TOML, tiny_set, with_edge, write_tiny
from tests.effort import calls_of


def refused(toml: str) -> str:
    with pytest.raises(FormatError) as caught:
        parse_set(toml, "set.toml")
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("cut = 1", f"cut = {2**63}", "piece|64 bits"),
        ("cut = 1", "cut = 0x" + "f" * 20_000, "64 bits"),
        ("cut = 1", f"cut = {2**62}", "from 1 to 1000"),
        ("cut = 1", "cut = " + "9" * 5000, "not readable as TOML"),
        ('fabric = "main fabric"', f'fabric = "{"x" * 2000}"', "2000 letters, expected at most"),
        ('name = "side_seam"', f'name = "{"x" * 300}"', "at most 200 letters"),
        ('hold = "hip"', f"hold = {'[' * 100}{']' * 100}", "nested more than 16 deep"),
        ('hold = "hip"', f"hold = {'[' * 5000}{']' * 5000}", "nested too deeply"),
        ('hold = "hip"', "hold" + ".a" * 100_000 + " = 1", "key of dozens of parts"),
        ('sizes = ["36", 38, "40"]', f"sizes = {list(range(300))}", "300 items, expected at most"),
        ('["back.side reversed"]', f"{['back.side'] * 20_000}", "20000 items, expected at most"),
        ("default = 10", f'default = "{"1" * 4301} mm"', "expected a length"),
    ],
    ids=range(12),
)
def test_a_relations_file_beyond_the_limits(old: str, new: str, said: str) -> None:
    assert old in TINY_TOML
    text = TINY_TOML.replace(old, new, 1)
    # Some thirty for each item of the longest list; one call for each pair of items is 200 million.
    assert calls_of(lambda: re.search(said, refused(text)) or pytest.fail(said)) < 2_000_000


def test_a_relations_file_of_many_megabytes(tmp_path: Path) -> None:
    folder = write_tiny(tmp_path / "set")
    with (folder / "set.toml").open("a", encoding="utf-8") as stream:
        stream.write("# nothing\n" * 500_000)
    with pytest.raises(FormatError, match=r"more than 4 MB"):
        load(folder)


def test_more_pieces_than_a_set_has() -> None:
    more = "".join(f"[pieces.p{k}]\n" for k in range(reading.MOST_PIECES))
    assert "expected at most 1000" in refused(TINY_TOML + more)


def test_limits_are_those_that_are_told() -> None:
    page = (Path(propagate.__file__).parent.parent / "docs" / "limits.md").read_text("utf-8")
    for value in (
        reading.MOST_SIZES,
        reading.MOST_PIECES,
        reading.MOST_ITEMS,
        reading.MOST_EDGE_POINTS,
        reading.MOST_POINTS,
        reading.LONGEST_NAME,
        reading.LONGEST_TEXT,
        reading.DEEPEST,
    ):
        assert f"{value:,}".replace(",", " ") in page


# ------------------------------------------------------------------------------- geometry


def piece(**values: object) -> str:
    edges = [
        {"name": "a", "points": [[0, 0], [100, 0], [100, 100]]},
        {"name": "b", "points": [[100, 100], [0, 0]]},
    ]
    size = {"edges": edges, "grain": [[50, 10], [50, 60]], **values}
    return json.dumps({"format": 1, "piece": "front", "sizes": {"one": size}})


def test_an_edge_of_more_points_than_any_has() -> None:
    points = [[k, 0] for k in range(reading.MOST_EDGE_POINTS + 1)]
    with pytest.raises(FormatError, match="a line of 100001 points, expected at most 100000"):
        load_piece(piece(edges=[{"name": "a", "points": points}]), "front.json")


def test_more_sizes_than_a_piece_has() -> None:
    text = json.dumps({"format": 1, "piece": "p", "sizes": {str(k): 0 for k in range(300)}})
    with pytest.raises(FormatError, match="300 sizes, expected at most 200"):
        load_piece(text, "p.json")


@pytest.mark.parametrize("depth", [50, 600, 900, 950, 990, 100_000])
def test_nesting_of_any_depth_is_refused(depth: int) -> None:
    text = piece().replace('"grain": [', f'"labels": {"[" * depth}{"]" * depth}, "grain": [')
    for label in ("labels", "label", "landmarks"):
        with pytest.raises(FormatError):
            load_piece(text.replace("labels", label), "front.json")
    with pytest.raises(FormatError):
        read_record(f'{{"format": 1, "edit": {"[" * depth}{"]" * depth}}}', "record.json")


def test_numbers_of_thousands_of_digits() -> None:
    digits = "9" * 5000
    with pytest.raises(FormatError, match="not readable as JSON"):
        load_piece(piece().replace("[50, 10]", f"[{digits}, 10]"), "front.json")
    with pytest.raises(FormatError, match="not readable as JSON"):
        read_record(f'{{"format": {digits}}}', "record.json")
    assert parse_length("1" * 5000 + "mm") is None
    assert show_value(10**5000) == "a number of about 5000 digits (number)"


@pytest.mark.parametrize("far", [2 * FARTHEST_MM, 1e9, 1e300])
def test_what_is_written_can_be_read_again(far: float) -> None:
    """`begin` checks a set before it writes; the reader's limit is the validator's."""
    pattern = tiny_set()
    points = np.add(pattern.sized("front", "38").edges[0].points, [far, 0.0])
    found = find_problems(with_edge(pattern, "front", "38", "hem", points))
    assert any("within 1 km" in line for line in found)


# ---------------------------------------------------------------------------------- names


@pytest.mark.parametrize(
    "name", ["a\x1bb", "a\x9bb", "a\u202eb", "a\u2028b", "a\u0085b", "a\u200bb", "x" * 201, ""]
)
def test_names_that_cannot_be_seen_are_none(name: str) -> None:
    assert not is_name(name)
    cleaned = clean_name(name)
    assert cleaned == "" or is_name(cleaned)


def test_names_of_every_script_are_names() -> None:
    for name in ("前身頃", "می\u200cخواهم", "manche_gauche", "Ärmel", "x" * 200):
        assert is_name(name)


# -------------------------------------------------------------------------------- lengths


def test_blanks_in_a_length_cost_no_more_than_their_number() -> None:
    """It ends: a pattern that tries every place of a blank would be at it for days."""
    for text in (" " * 1_000_000 + "x", "1" + " " * 1_000_000 + "x", "1" * 1_000_000 + "/0x"):
        assert parse_length(text, bare="mm") is None
    assert parse_length("  1   3/8 in ") == pytest.approx(34.925)


# ------------------------------------------------------------------------- damaged rules

RULES = """ANSI/AAMA VERSION
UNITS: METRIC
GRADE RULE TABLE: t
NUMBER OF SIZES: 2
SIZE LIST: 36 38
SAMPLE SIZE: 36
RULE: DELTA 1
{}
END
"""


@pytest.mark.parametrize(
    "body",
    ["-0..80", "0.0, 0.0 -0..80", "0,,0 1,1", "0.0,,0.0 1.0,1.0", "1,2,3 4,5", "1,,5 2,5, 3,5"],
)
def test_a_damaged_number_is_told_and_never_guessed(body: str) -> None:
    try:
        table = parse_rules(RULES.format(body), "t.rul")
    except PropagateError:
        return
    assert "1" not in table.rules
    assert any("rule 1" in line for line in table.problems)


def test_many_problems_are_few_lines(tmp_path: Path) -> None:
    """A piece of which every landmark lies far away."""
    folder = write_tiny(tmp_path / "set")
    file = folder / "geometry" / "front.json"
    data = json.loads(file.read_text("utf-8"))
    for size in data["sizes"].values():
        mark = size["landmarks"][0]
        size["landmarks"] += [
            {**mark, "name": f"m{k}", "point": [9000.0 + k, 0.0]} for k in range(200)
        ]
    file.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InvalidSet) as caught:
        load(folder)
    assert len(caught.value.problems) >= 600
    assert len(str(caught.value).split("\n")) < 20
