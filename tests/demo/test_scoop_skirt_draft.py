"""The drafted skirt, judged from its files alone.

The files are read with ``json`` and a small path reader of this module; areas and
crossings come from shapely, angles from circles through the last vertices.  Trade facts
(a seam's corner angles add to 180 degrees, a line meets a fold squarely) are common
practice, no source.
"""

import json
import runpy
import tomllib
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from propagate.io.geometry_json import dump_piece, load_piece
from propagate.pattern.relations import parse_span

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "scoop_skirt"
SIZES = ["XS", "S", "M", "L", "XL", "2XL", "3XL"]
FILES = {path.stem: json.loads(path.read_text("utf-8")) for path in HOME.glob("geometry/*.json")}
TOML = tomllib.loads((HOME / "set.toml").read_text("utf-8"))
PIECES = ["skirt_front", "skirt_back", "pocket_facing", "bag_front", "bag_back", "belt"]


# --- reading ---------------------------------------------------------------


def path_points(text):
    """Points of path data with absolute M, L and C, 400 to a curve."""
    words, points = text.split(), []
    while words:
        letter = words.pop(0)
        count = {"M": 1, "L": 1, "C": 3}[letter]
        numbers = [float(words.pop(0)) for _ in range(2 * count)]
        control = np.array(numbers).reshape(-1, 2)
        if letter != "C":
            points.append(control[0])
            continue
        a, (b, c, d) = points[-1], control
        t = np.linspace(0, 1, 401)[1:-1, None]
        s = 1 - t
        points.extend(s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d)
        points.append(d)
    return np.array(points)


def raw(piece, size):
    return FILES[piece]["sizes"][size]


def edge(piece, size, name):
    (found,) = [e for e in raw(piece, size)["edges"] if e["name"] == name]
    return np.array(found["points"]) if "points" in found else path_points(found["path"])


def mark(piece, size, name):
    if name.endswith((".start", ".end")):
        at, _, end = name.rpartition(".")
        return edge(piece, size, at)[0 if end == "start" else -1]
    (found,) = [m for m in raw(piece, size)["landmarks"] if m["name"] == name]
    return np.array(found["point"])


def outline(piece, size):
    return np.vstack([edge(piece, size, e["name"])[:-1] for e in raw(piece, size)["edges"]])


# --- measuring -------------------------------------------------------------


def length(points):
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def between(points, begin, end):
    """The part of a polyline between two points on it."""
    line = LineString(points)
    a, b = sorted((line.project(Point(begin)), line.project(Point(end))))
    arc = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    inner = points[(arc > a + 1e-7) & (arc < b - 1e-7)]
    ends = [np.array(line.interpolate(d).coords[0]) for d in (a, b)]
    return np.vstack([ends[0], inner, ends[1]])


def end_direction(points):
    """Direction that leaves the first point, from the circle through 0, 5 and 10 mm."""
    line = LineString(points)
    p, q, r = (np.array(line.interpolate(d).coords[0]) for d in (0.0, 5.0, 10.0))
    angle_pq, angle_qr = (np.arctan2(*(v)[::-1]) for v in (q - p, r - q))
    turn = (angle_qr - angle_pq + np.pi) % (2 * np.pi) - np.pi
    return np.degrees(angle_pq - turn / 2)


def corner(first, second):
    """Inner angle where `first` ends and `second` starts on a counter-clockwise outline."""
    return (end_direction(first[::-1]) - end_direction(second)) % 360


def mirrored(points):
    return np.asarray(points) * [-1.0, 1.0]


def rigid(source, target):
    """The motion that puts two points on two points, as a function."""
    (a, b), (c, d) = np.asarray(source), np.asarray(target)
    turn = complex(*(d - c)) / complex(*(b - a))
    turn /= abs(turn)

    def move(points):
        z = (np.asarray(points) - (a + b) / 2) @ [1, 1j] * turn
        return np.stack([z.real, z.imag], axis=-1) + (c + d) / 2

    return move


def on_front(piece, size):
    """The motion that puts a pocket layer on the front's opening."""
    ends = ("scoop.start", "scoop.end")
    own = ends if piece == "bag_front" else ("scoop_top", "scoop_low")
    flip = mirrored if piece == "bag_back" else np.asarray
    source = [flip(mark(piece, size, name)) for name in own]
    move = rigid(source, [mark("skirt_front", size, name) for name in ends])
    return lambda points: move(flip(points))


def front_top(size):
    """Top of the full front from the fold to the flank."""
    facing = on_front("pocket_facing", size)
    part = between(
        edge("pocket_facing", size, "top"),
        mark("pocket_facing", size, "scoop_top"),
        mark("pocket_facing", size, "top.end"),
    )
    return np.vstack([edge("skirt_front", size, "top"), facing(part)[1:]])


def front_flank(size):
    """Flank of the full front from the top down."""
    facing = on_front("pocket_facing", size)
    part = between(
        edge("pocket_facing", size, "flank"),
        mark("pocket_facing", size, "flank.start"),
        mark("pocket_facing", size, "scoop_low"),
    )
    return np.vstack([facing(part), edge("skirt_front", size, "flank")[1:]])


def closed_top(size):
    """The back's top with the dart closed: (centre part, flank part) lengths."""
    top = edge("skirt_back", size, "top")
    flank, cb = (mark("skirt_back", size, name) for name in ("dart_flank", "dart_cb"))
    return length(between(top, cb, top[-1])), length(between(top, top[0], flank))


def level_width(piece, size, level):
    shape = Polygon(outline(piece, size))
    point = np.array(raw(piece, size)["levels"][level])
    a, b = np.array(raw(piece, size)["grain"])
    square = np.array([[0, -1], [1, 0]]) @ (b - a) / np.hypot(*(b - a))
    return shape.intersection(LineString([point - 2000 * square, point + 2000 * square])).length


# --- the files --------------------------------------------------------------


def test_the_draft_gives_the_files_byte_for_byte():
    drafted = runpy.run_path(str(HOME / "draft.py"))["draft"]()
    assert sorted(drafted) == sorted(FILES) == sorted(PIECES)
    for name, piece in drafted.items():
        assert dump_piece(piece).encode() == (HOME / "geometry" / f"{name}.json").read_bytes()


@pytest.mark.parametrize("piece", PIECES)
def test_every_size_is_there_and_reads_back_unchanged(piece):
    text = (HOME / "geometry" / f"{piece}.json").read_text("utf-8")
    assert dump_piece(load_piece(text, piece)) == text
    assert list(FILES[piece]["sizes"]) == SIZES == TOML["sizes"]
    names = {
        tuple(sorted(x["name"] for key in ("edges", "landmarks") for x in raw(piece, s)[key]))
        for s in SIZES
    }
    assert len(names) == 1


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("piece", PIECES)
def test_outlines_are_closed_simple_and_counter_clockwise(piece, size):
    names = [e["name"] for e in raw(piece, size)["edges"]]
    for first, second in pairwise([*names, names[0]]):
        assert (edge(piece, size, first)[-1] == edge(piece, size, second)[0]).all()
    shape = Polygon(outline(piece, size))
    assert shape.is_valid
    assert shape.exterior.is_ccw
    for found in raw(piece, size)["landmarks"]:
        line = LineString(edge(piece, size, found["edge"]))
        assert line.distance(Point(found["point"])) < 0.01


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("piece", PIECES)
def test_chords_leave_the_curve_by_at_most_a_hundredth(piece, size):
    # Sagitta of a chord c on a circle: c^2 / (8 r); 1 / r is the turn at a vertex over
    # the mean of the chords beside it, the smaller of the two at the chord's ends (it is
    # 0 beside the straight part of a flank, and where two sizes of chord meet both count).
    for found in raw(piece, size)["edges"]:
        points = np.array(found.get("points", []))
        if len(points) < 3:
            continue
        steps = np.diff(points, axis=0)
        chord = np.hypot(*steps.T)
        heading = np.unwrap(np.arctan2(*steps.T[::-1]))
        bend = np.abs(np.diff(heading)) / ((chord[1:] + chord[:-1]) / 2)
        bend[[turn - 1 for turn in found.get("turns", [])]] = 0.0
        curved = chord < 150.0  # the flank below the seat is one straight chord
        smaller = np.minimum(np.append(bend, bend[-1]), np.append(bend[0], bend))
        assert (chord**2 / 8 * smaller)[curved].max() < 0.01


# --- the skirt ---------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_flank_seam_has_one_length_and_its_corners_run_on(size):
    front, back = front_flank(size), edge("skirt_back", size, "flank")
    assert length(front) == pytest.approx(length(back), abs=0.005)
    top = corner(front_top(size), front) + corner(back, edge("skirt_back", size, "top"))
    assert top == pytest.approx(180.0, abs=0.2)
    foot = corner(front, edge("skirt_front", size, "foot"))
    foot += corner(edge("skirt_back", size, "foot"), back)
    assert foot == pytest.approx(180.0, abs=0.2)


@pytest.mark.parametrize("size", SIZES)
def test_top_and_foot_are_square_to_fold_and_centre_back(size):
    for piece, first, second in (
        ("skirt_front", "fold_line", "top"),
        ("skirt_front", "foot", "fold_line"),
        ("skirt_back", "top", "cb"),
        ("skirt_back", "cb", "foot"),
    ):
        found = corner(edge(piece, size, first), edge(piece, size, second))
        assert found == pytest.approx(90.0, abs=0.2)


@pytest.mark.parametrize("i", range(7))
def test_girths_are_the_chart_with_constant_ease(i):
    size = SIZES[i]
    waist = 2 * (length(front_top(size)) + sum(closed_top(size)))
    assert waist == pytest.approx(TOML["chart"]["natural_waist"][i] + 12.0, abs=0.01)
    seat = 2 * sum(level_width(p, size, "seat") for p in ("skirt_front", "skirt_back"))
    assert seat == pytest.approx(TOML["chart"]["seat"][i] + 36.0, abs=0.01)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("side", ["front", "back"])
def test_flank_bends_one_way_and_runs_smoothly_through_the_seat(side, size):
    back = edge("skirt_back", size, "flank")
    line = front_flank(size) if side == "front" else back[::-1]
    seat = mark(f"skirt_{side}", size, "seat_notch")
    above = between(line, line[0], seat)
    below = between(line, seat, line[-1])
    heading = np.unwrap(np.arctan2(*np.diff(above, axis=0).T[::-1]))
    turn = np.diff(heading)
    # 1e-4 rad: a short chord beside a cut turns by the rounding to 1e-4 mm.
    sign = np.sign(turn.sum())
    assert (sign * turn > -1e-4).all()
    kink = end_direction(below) - (end_direction(above[::-1]) + 180.0)
    assert (kink + 180) % 360 - 180 == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("size", SIZES)
def test_closed_dart_gives_one_smooth_top(size):
    top = edge("skirt_back", size, "top")
    (dart,) = raw("skirt_back", size)["darts"]
    flank, cb = (mark("skirt_back", size, name) for name in dart["legs"])
    tip = np.array(dart["tip"])
    assert np.hypot(*(flank - tip)) == pytest.approx(np.hypot(*(cb - tip)), abs=3e-4)
    close = rigid([tip, flank], [tip, cb])
    one = between(top, top[0], flank)
    two = between(top, cb, top[-1])
    kink = end_direction(two) - (end_direction(close(one)[::-1]) + 180.0)
    assert (kink + 180) % 360 - 180 == pytest.approx(0.0, abs=0.2)
    (found,) = [e for e in raw("skirt_back", size)["edges"] if e["name"] == "top"]
    assert np.allclose(np.array(found["points"])[found["turns"]][[0, -1]], [flank, cb])


# --- the pocket --------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_opening_is_one_rigid_curve_with_ends_in_their_places(size):
    scoop, base = edge("skirt_front", size, "scoop"), edge("skirt_front", "M", "scoop")
    move = rigid(base[[0, -1]], scoop[[0, -1]])
    assert np.abs(move(base) - scoop).max() < 3e-4
    assert length(scoop) == pytest.approx(length(base), abs=1e-4)
    top, flank = front_top(size), front_flank(size)
    assert length(between(top, scoop[0], top[-1])) == pytest.approx(70.0, abs=0.001)
    assert 100.0 < length(between(flank, flank[0], scoop[-1])) < 120.0
    bag = on_front("bag_front", size)(edge("bag_front", size, "scoop"))
    assert np.abs(bag - scoop).max() < 3e-4


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("piece", ["pocket_facing", "bag_front", "bag_back"])
def test_riding_edges_lie_on_the_silhouette(piece, size):
    put = on_front(piece, size)
    for name, silhouette in (("top", front_top(size)), ("flank", front_flank(size))):
        line = LineString(silhouette)
        gaps = [line.distance(Point(p)) for p in put(edge(piece, size, name))]
        assert max(gaps) < 3e-4


@pytest.mark.parametrize("size", SIZES)
def test_layers_reach_behind_and_below_the_opening(size):
    for piece, behind, below in (("pocket_facing", 30.0, 25.0), ("bag_back", 56.0, 58.0)):
        top, flank = edge(piece, size, "top"), edge(piece, size, "flank")
        inner, low = (top[0], flank[-1]) if piece == "pocket_facing" else (top[-1], flank[0])
        found = length(between(top, mark(piece, size, "scoop_top"), inner))
        assert found == pytest.approx(behind, abs=0.001)
        found = length(between(flank, mark(piece, size, "scoop_low"), low))
        assert found == pytest.approx(below, abs=0.001)
    free = on_front("pocket_facing", size)(edge("pocket_facing", size, "inner"))
    scoop = LineString(edge("skirt_front", size, "scoop"))
    assert min(scoop.distance(Point(p)) for p in free) > 20.0


@pytest.mark.parametrize("size", SIZES)
def test_bags_are_alike_face_to_face_and_stay_inside_the_front(size):
    front = on_front("bag_front", size)(edge("bag_front", size, "bag_curve"))
    back = on_front("bag_back", size)(edge("bag_back", size, "bag_curve"))[::-1]
    assert np.abs(front - back).max() < 3e-4
    notches = [on_front(p, size)(mark(p, size, "bag_notch")) for p in ("bag_front", "bag_back")]
    assert np.hypot(*(notches[0] - notches[1])) < 3e-4
    low = mark("skirt_front", size, "scoop.end")[1] - front[:, 1].min()
    assert low == pytest.approx(110.0, abs=8.0)
    fold = LineString(edge("skirt_front", size, "fold_line"))
    assert fold.distance(LineString(front)) > 20.0
    flank = LineString(front_flank(size))
    assert all(p[0] > flank.interpolate(flank.project(Point(p))).x - 0.01 for p in front)


def test_bag_in_different_sizes_is_about_the_same():
    areas = [Polygon(outline("bag_back", size)).area for size in SIZES]
    assert max(areas) / min(areas) < 1.05


# --- the belt ----------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_belt_zones_are_as_long_as_their_runs(size):
    join, rim = edge("belt", size, "join"), edge("belt", size, "rim")
    front, back = length(front_top(size)), sum(closed_top(size))
    expected = {
        "underlap": 30.0,
        "right_back": back - 3.0,
        "right_front": front,
        "left_front": front,
        "left_back": back - 3.0,
    }
    (band,) = TOML["band"]
    begin, total = "start", 0.0
    for zone in band["zones"]:
        assert zone["begin"] == begin
        ends = [
            join[0 if end == "start" else -1]
            if end in ("start", "end")
            else mark("belt", size, end)
            for end in (zone["begin"], zone["end"])
        ]
        found = length(between(join, *ends))
        assert found == pytest.approx(expected[zone["name"]], abs=0.005)
        begin, total = zone["end"], total + found
    assert (begin, total) == ("end", pytest.approx(length(join), abs=1e-6))
    other = LineString(rim)
    width = [other.distance(Point(p)) for p in join]
    assert np.abs(np.array(width) - 40.0).max() < 0.02
    assert length(rim) / length(join) == pytest.approx(1210.0 / 1250.0, abs=1e-4)


# --- orientation and relations ------------------------------------------------


def test_orientation_differs_between_pieces_and_sizes():
    grain = {p: np.subtract(*np.array(raw(p, "M")["grain"])[::-1]) for p in PIECES}
    assert grain["skirt_front"][1] > 0 > grain["skirt_back"][1]
    assert mark("skirt_front", "M", "scoop.end")[0] < mark("skirt_front", "M", "top.start")[0]
    for piece in PIECES:
        grains = [np.mean(raw(piece, size)["grain"], axis=0) for size in SIZES]
        assert min(np.hypot(*(a - b)) for a, b in pairwise(grains)) > 20.0
    assert len({raw(p, "M")["edges"][0]["name"] for p in PIECES}) == len(PIECES)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("piece", PIECES)
def test_grain_label_and_marks_lie_inside_the_piece(piece, size):
    shape, found = Polygon(outline(piece, size)), raw(piece, size)
    inside = [*found["grain"], found["label"]["point"]]
    inside += [d["point"] for d in found.get("drills", [])]
    inside += [d["tip"] for d in found.get("darts", [])]
    assert all(shape.contains(Point(p)) for p in inside)


def test_every_name_in_the_relations_is_in_the_geometry():
    def names(value):
        if isinstance(value, dict):
            for inner in value.values():
                yield from names(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from names(inner)
        elif isinstance(value, str) and value.partition(".")[0] in PIECES and "." in value:
            yield value

    found = set(names({k: v for k, v in TOML.items() if k != "pieces"}))
    assert len(found) > 20
    for text in found:
        span = parse_span(text)
        known = {e["name"] for e in raw(span.piece, "M")["edges"]}
        known |= {m["name"] for m in raw(span.piece, "M")["landmarks"]}
        known |= {"start", "end"}
        assert {span.edge, span.begin, span.end} <= known
    for piece, info in TOML["pieces"].items():
        edges = {e["name"] for e in raw(piece, "M")["edges"]}
        marks = {m["name"] for m in raw(piece, "M")["landmarks"]}
        allowance = info["allowance"]
        assert set(allowance.get("edges", {})) | set(allowance.get("turned", [])) <= edges
        order = [e["name"] for e in raw(piece, "M")["edges"]]
        corners = {f"{a}/{b}" for a, b in pairwise([*order, order[0]])}
        assert set(allowance.get("corners", {})) <= corners
        assert set(info.get("anchors", {})) <= marks
