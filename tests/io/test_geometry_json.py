"""The geometry files: what is written reads back to the same digits, bad files are named."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.io.geometry_json import dump_piece, load_piece
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from tests.builders import pocket_set, tiny_set

# A piece lies within a kilometre of its origin; every such number comes back digit for digit.
numbers = st.floats(-1e6, 1e6, allow_subnormal=True)
points = st.tuples(numbers, numbers)
names = st.text("abcdefgh_-äß0123", min_size=1, max_size=8)


def polylines(least: int = 2) -> st.SearchStrategy[np.ndarray]:
    return st.lists(points, min_size=least, max_size=6).map(frozen_points)


@st.composite
def edges(draw: st.DrawFn) -> Edge:
    drawn = draw(polylines())
    inner = range(1, len(drawn) - 1)
    turns = sorted(draw(st.sets(st.sampled_from(inner)))) if inner else []
    return Edge(draw(names), drawn, tuple(turns))


landmarks = st.builds(
    Landmark, names, names, points, st.sampled_from(["notch", "dart leg", "mark"])
)
sized = st.builds(
    SizedPiece,
    edges=st.lists(edges(), min_size=1, max_size=3).map(tuple),
    grain=st.builds(Grain, points, points),
    landmarks=st.lists(landmarks, max_size=2).map(tuple),
    darts=st.lists(st.builds(Dart, names, names, st.tuples(names, names), points), max_size=2).map(
        tuple
    ),
    lines=st.lists(st.builds(InternalLine, names, polylines()), max_size=2).map(tuple),
    drills=st.lists(st.builds(Mark, names, points), max_size=2).map(tuple),
    levels=st.dictionaries(names, points, max_size=2),
    label=st.none() | st.builds(Label, points, numbers),
)
pieces = st.builds(Piece, names, st.dictionaries(names, sized, min_size=1, max_size=2))


def bits(piece: Piece) -> list[bytes]:
    """Every coordinate as its eight bytes: -0.0 and 0.0 differ here."""
    return [
        array.tobytes()
        for size in piece.nest.values()
        for array in (
            *(edge.points for edge in size.edges),
            *(line.points for line in size.lines),
            np.array([mark.point for mark in size.landmarks]),
            np.array([mark.point for mark in size.drills]),
            np.array([dart.tip for dart in size.darts]),
            np.array([size.grain.start, size.grain.end]),
            np.array(list(size.levels.values())),
            np.array([] if size.label is None else [*size.label.point, size.label.angle]),
        )
    ]


@given(pieces)
def test_what_is_written_reads_back_digit_for_digit(piece: Piece) -> None:
    text = dump_piece(piece)
    again = load_piece(text, "x.json")
    assert again == piece
    assert bits(again) == bits(piece)
    assert dump_piece(again) == text
    assert json.loads(text)["piece"] == piece.name  # plain JSON for any reader


@pytest.mark.parametrize(
    "value", [-0.0, 5e-324, 2.2250738585072014e-308, 0.1 + 0.2, 1e6 - 1e-9, -1e6]
)
def test_awkward_numbers_survive(value: float) -> None:
    square = frozen_points([(value, 0), (1, 0), (1, 1), (value, 0)])
    piece = Piece("p", {"36": SizedPiece((Edge("e", square),), Grain((0.0, 0.0), (0.0, 9.0)))})
    found = load_piece(dump_piece(piece), "p.json").at("36").edge("e").points[0, 0]
    assert found == value and math.copysign(1, found) == math.copysign(1, value)


def test_layout_is_canonical() -> None:
    piece = Piece(
        "front",
        {
            "36": SizedPiece(
                (Edge("hem", frozen_points([(0, 0), (10, 0.1), (12, 3)]), (1,)),),
                Grain((0.0, 0.0), (0.0, 9.0)),
                landmarks=(Landmark("n", "hem", (10.0, 0.1), "notch"),),
            )
        },
    )
    assert dump_piece(piece) == (
        "{\n"
        '  "format": 1,\n'
        '  "piece": "front",\n'
        '  "sizes": {\n'
        '    "36": {\n'
        '      "edges": [\n'
        '        {"name": "hem", "points": [[0.0, 0.0], [10.0, 0.1], [12.0, 3.0]], "turns": [1]}\n'
        "      ],\n"
        '      "landmarks": [\n'
        '        {"name": "n", "edge": "hem", "point": [10.0, 0.1], "kind": "notch"}\n'
        "      ],\n"
        '      "grain": [[0.0, 0.0], [0.0, 9.0]]\n'
        "    }\n"
        "  }\n"
        "}\n"
    )


def test_an_edge_of_path_data_is_written_as_path_data() -> None:
    text = dump_piece(pocket_set().piece("front"))
    path = "M 0 -600 h 195"
    document = json.loads(text)
    hem = document["sizes"]["36"]["edges"][0]
    document["sizes"]["36"]["edges"][0] = {"name": hem["name"], "path": path}
    piece = load_piece(json.dumps(document), "front.json")
    assert piece.at("36").edge("hem").path == path
    assert piece.at("36").edge("hem").points.tolist() == hem["points"]
    assert f'"path": "{path}"' in dump_piece(piece)
    assert load_piece(dump_piece(piece), "front.json") == piece


def test_numbers_that_are_not_finite_are_not_written() -> None:
    bad = SizedPiece(
        (Edge("e", frozen_points([(0, 0), (math.nan, 1)])),), Grain((0.0, 0.0), (0.0, 9.0))
    )
    with pytest.raises(FormatError, match=r"piece 'p', size '36': .*not finite"):
        dump_piece(Piece("p", {"36": bad}))


def document(**changes: object) -> str:
    """A tiny geometry file with keys of its one size replaced; None takes a key out."""
    size: dict[str, object] = {
        "edges": [{"name": "e", "points": [[0, 0], [1, 0], [0, 1], [0, 0]]}],
        "grain": [[0, 0], [0, 9]],
    }
    size |= changes
    kept = {key: value for key, value in size.items() if value is not None}
    return json.dumps({"format": 1, "piece": "p", "sizes": {"36": kept}})


def edge(**keys: object) -> list[dict[str, object]]:
    return [{"name": "e", "points": [[0, 0], [1, 0], [0, 1]], **keys}]


HUGE = int("9" * 400)
BAD = {
    "cut short": ('{"format": 1,\n  "piece": ', r"p.json: line 2, column 12: not readable as JSON"),
    "empty": ("", r"line 1, column 1: not readable"),
    "too deep": ("[" * 100_000, r"p.json: not readable as JSON"),
    "key twice": ('{"format": 1, "format": 1}', r"key 'format' stands twice"),
    "a list": ("[]", r"found \[\] \(list\), expected a table"),
    "newer format": (
        '{"format": 2}',
        r"p.json: format 2 is newer than this program reads \(1\); update",
    ),
    "format as text": ('{"format": "1"}', r"format: found '1' \(text\), expected the whole"),
    "format 0": ('{"format": 0}', r"format: found 0"),
    "no format": ("{}", r"'format' is missing"),
    "no size": ('{"format": 1, "piece": "p", "sizes": {}}', r"sizes: found no size"),
    "piece is a path": ('{"format": 1, "piece": "../p", "sizes": {}}', r"piece: found '../p'"),
    "size with a dot": (document().replace('"36"', '"S.M"'), r"sizes: found 'S.M'"),
    "unknown key": (document(grains=[]), r"size '36': unknown key 'grains'; did you mean 'grain'"),
    "no grain": (document(grain=None), r"size '36': 'grain' is missing"),
    "grain of three": (document(grain=[[0, 0]] * 3), r"grain: .*expected two points"),
    "no edges": (document(edges=None), r"'edges' is missing"),
    "edges empty": (document(edges=[]), r"expected at least one edge"),
    "edges a number": (document(edges=4), r"edges: found 4 \(number\), expected a list"),
    "one point": (document(edges=edge(points=[[0, 0]])), r"edge 'e', points: .*at least 2 points"),
    "a point of three": (document(edges=edge(points=[[0, 0], [1, 2, 3]])), r"points\[1\]: found"),
    "a point of text": (
        document(edges=edge(points=[[0, 0], ["1", 2]])),
        r"points\[1\]: found \['1'",
    ),
    "a point of true": (document(edges=edge(points=[[0, 0], [True, 2]])), r"points\[1\]: found"),
    "too large": (document(edges=edge(points=[[0, 0], [HUGE, 0]])), r"a number beyond 1000000"),
    "turn at the end": (document(edges=edge(turns=[2])), r"turns: .*inner vertices, from 1 to 1"),
    "turns out of order": (
        document(edges=edge(points=[[0, 0], [1, 0], [2, 0], [3, 1]], turns=[2, 1])),
        r"turns: .*rising",
    ),
    "points and path": (document(edges=edge(path="M 0 0 L 1 1")), r"'path' beside 'points'"),
    "bad path": (document(edges=[{"name": "e", "path": "M 0 0 Z"}]), r"path: .*character 7"),
    "kind": (
        document(landmarks=[{"name": "n", "edge": "e", "point": [0, 0], "kind": "nick"}]),
        r"landmark 'n', kind: found 'nick' \(text\), expected 'notch' or 'dart leg' or 'mark'",
    ),
    "landmark without edge": (
        document(landmarks=[{"name": "n", "point": [0, 0]}]),
        r"landmark 'n': 'edge' is missing",
    ),
    "one leg": (
        document(darts=[{"name": "d", "edge": "e", "legs": ["a"], "tip": [0, 0]}]),
        r"dart 'd', legs: .*two landmarks",
    ),
    "level of one number": (document(levels={"hip": [1]}), r"levels, hip: found \[1\]"),
    "level too large": (document(levels={"hip": [HUGE, 0]}), r"levels, hip: found"),
    "label angle": (document(label={"point": [0, 0], "angle": "90mm"}), r"label, angle: found"),
}


@pytest.mark.parametrize(("text", "message"), BAD.values(), ids=BAD.keys())
def test_bad_files_are_named(text: str, message: str) -> None:
    with pytest.raises(FormatError, match=message) as caught:
        load_piece(text, "p.json")
    assert "p.json" in str(caught.value)


def test_all_problems_of_a_file_are_named_at_once() -> None:
    text = document(edges=edge(turns=[9]), levels={"hip": 3}, colour="red")
    with pytest.raises(FormatError) as caught:
        load_piece(text, "p.json")
    found = str(caught.value)
    assert "3 problems" in found
    assert all(part in found for part in ("turns", "levels, hip", "colour"))


@pytest.mark.parametrize("value", ["1e308", "-1.1e6", "1" + "0" * 400])
def test_a_coordinate_beyond_a_kilometre_is_refused(value: str) -> None:
    text = dump_piece(tiny_set().pieces["front"])
    place = text.index("[[") + 2
    broken = text[:place] + value + text[text.index(",", place) :]
    with pytest.raises(FormatError, match="beyond 1000000, expected millimetres"):
        load_piece(broken, "front.json")
