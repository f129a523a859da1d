"""The drafted trouser, judged from its files alone.

The files are read with ``json`` and a small path reader of this module; crossings, areas
and distances come from shapely, angles from a straight-line fit to the directions of the
last 15 mm.  Trade facts (corner angles at a seam add to 180 degrees, a waist meets its
mirrored twin squarely, a bag stays off the crotch line) are common practice, no source.
"""

import json
import subprocess
import sys
import tomllib
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from propagate.io.geometry_json import dump_piece, load_piece
from propagate.pattern.relations import parse_span

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "slant_trouser"
TOML = tomllib.loads((HOME / "set.toml").read_text("utf-8"))
FILES = {path.stem: json.loads(path.read_text("utf-8")) for path in HOME.glob("geometry/*.json")}
SIZES = ["36", "38", "40", "42", "44", "46", "48", "50", "52"]
CHART = {row: dict(zip(SIZES, values, strict=True)) for row, values in TOML["chart"].items()}
PIECES = {
    *("front", "back", "facing", "under_bag", "top_bag", "waistband"),
    *("fly_extension", "fly_shield", "welt", "welt_bag", "belt_loop"),
}
LAYERS = {
    "facing": ("mouth_top", "mouth_low"),
    "under_bag": ("mouth_top", "mouth_low"),
    "top_bag": ("mouth.end", "mouth.start"),
}
every_size = pytest.mark.parametrize("size", SIZES)


# --- reading ---------------------------------------------------------------------------


def path_points(text):
    """Points of path data with absolute M and C, 400 to a curve."""
    head, *curves = text.split(" C ")
    points = [np.array(head.split()[1:], float)]
    for curve in curves:
        b, c, d = np.array(curve.split(), float).reshape(3, 2)
        a, t = points[-1], np.linspace(0, 1, 401)[1:, None]
        s = 1 - t
        inner = s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d
        points.extend([*inner[:-1], d])
    return np.array(points)


def raw(piece, size):
    return FILES[piece]["sizes"][size]


def edge(piece, size, name):
    (found,) = [e for e in raw(piece, size)["edges"] if e["name"] == name]
    return np.array(found["points"]) if "points" in found else path_points(found["path"])


def mark(piece, size, name):
    at, dot, end = name.rpartition(".")
    if dot:
        return edge(piece, size, at)[0 if end == "start" else -1]
    (found,) = [m for m in raw(piece, size)["landmarks"] if m["name"] == name]
    return np.array(found["point"])


def outline(piece, size):
    return np.vstack([edge(piece, size, e["name"])[:-1] for e in raw(piece, size)["edges"]])


def grain(piece, size):
    begin, end = np.array(raw(piece, size)["grain"])
    return (end - begin) / np.hypot(*(end - begin))


# --- measuring -------------------------------------------------------------------------


def length(points):
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def between(points, begin, end):
    """The part of a polyline between two points on it, from `begin` to `end`."""
    line = LineString(points)
    a, b = line.project(Point(begin)), line.project(Point(end))
    arc = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    inner = points[(arc > min(a, b) + 1e-7) & (arc < max(a, b) - 1e-7)]
    return np.vstack([begin, inner if a < b else inner[::-1], end])


def direction(points):
    """Degrees in which the line leaves its first point: a line fitted to 15 mm, at 0."""
    line = LineString(points)
    at = np.array([line.interpolate(d).coords[0] for d in (0.0, 5.0, 10.0, 15.0)])
    step = np.diff(at, axis=0)
    angles = np.degrees(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
    return float(np.polyfit([2.5, 7.5, 12.5], angles, 1)[1])


def corner(first, second):
    """Inner angle where `first` ends and `second` starts on a counter-clockwise outline."""
    return (direction(first[::-1]) - direction(second)) % 360


def tilt(angle, size, piece):
    """Degrees between a direction and the piece's grain, unsigned."""
    gx, gy = grain(piece, size)
    apart = (angle - np.degrees(np.arctan2(gy, gx)) + 90) % 180 - 90
    return abs(apart)


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
    """The motion that puts a layer of the pocket on the front's mouth."""
    flip = (lambda points: np.asarray(points) * [-1.0, 1.0]) if piece == "top_bag" else np.asarray
    source = [flip(mark(piece, size, name)) for name in LAYERS[piece]]
    move = rigid(source, [mark("front", size, name) for name in ("mouth.start", "mouth.end")])
    return lambda points: move(flip(points))


def full(size):
    """Waist and side of the full front, in the front's frame."""
    move = on_front("facing", size)
    top, low = mark("facing", size, "mouth_top"), mark("facing", size, "mouth_low")
    waist, side = edge("facing", size, "waist"), edge("facing", size, "side")
    waist = between(waist, top, waist[-1])
    side = between(side, side[0], low)
    return (
        np.vstack([edge("front", size, "waist"), move(waist)[1:]]),
        np.vstack([move(side)[:-1], edge("front", size, "side")]),
    )


def back_waist(size):
    """The two parts of the back's waist beside the dart, from the side."""
    waist = edge("back", size, "waist")
    out, into = mark("back", size, "dart_out"), mark("back", size, "dart_in")
    return between(waist, waist[0], out), between(waist, into, waist[-1])


def at_level(points, piece, size, level):
    """Where a line meets a level, measured square to the grain."""
    gx, gy = grain(piece, size)
    here, square = np.array(raw(piece, size)["levels"][level]), np.array([gy, -gx])
    cross = LineString([here + 2000 * square, here - 2000 * square])
    hit = LineString(points).intersection(cross)
    return np.array(hit.coords[0])


def run_length(texts, size):
    total = 0.0
    for text in texts:
        span = parse_span(text)
        points = edge(span.piece, size, span.edge)
        ends = [
            mark(span.piece, size, f"{span.edge}.{end}" if end in ("start", "end") else end)
            for end in (span.begin, span.end)
        ]
        total += length(between(points, *ends))
        if span.piece == "back" and span.edge == "waist":
            legs = [mark("back", size, leg) for leg in ("dart_in", "dart_out")]
            total -= float(np.hypot(*(legs[0] - legs[1])))
    return total


def gap(points, line):
    """Largest distance of points from a line."""
    return max(LineString(line).distance(Point(point)) for point in points)


# --- the files -------------------------------------------------------------------------


def test_the_set_is_complete():
    assert set(FILES) == PIECES == set(TOML["pieces"])
    assert TOML["sizes"] == SIZES
    for name, data in FILES.items():
        assert list(data["sizes"]) == SIZES, name


def test_drafting_again_gives_the_same_files(tmp_path):
    subprocess.run([sys.executable, str(HOME / "draft.py"), str(tmp_path)], check=True)
    again = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert again == {path.name: path.read_bytes() for path in HOME.glob("geometry/*")}


@pytest.mark.parametrize("piece", sorted(PIECES))
def test_the_files_are_what_the_writer_writes(piece):
    text = (HOME / "geometry" / f"{piece}.json").read_text("utf-8")
    assert dump_piece(load_piece(text, piece)) == text


@pytest.mark.parametrize("piece", sorted(PIECES))
def test_every_size_has_the_same_names(piece):
    first = raw(piece, SIZES[0])
    for size in SIZES[1:]:
        there = raw(piece, size)
        for key in ("edges", "landmarks", "darts", "lines", "drills"):
            names = [item["name"] for item in first.get(key, [])]
            assert [item["name"] for item in there.get(key, [])] == names
        assert list(there.get("levels", {})) == list(first.get("levels", {}))


@every_size
def test_outlines_are_closed_simple_and_counter_clockwise(size):
    for piece in PIECES:
        chain = [edge(piece, size, e["name"]) for e in raw(piece, size)["edges"]]
        for before, after in zip(chain, chain[1:] + chain[:1], strict=True):
            assert before[-1].tolist() == after[0].tolist()
        polygon = Polygon(outline(piece, size))
        assert polygon.is_valid
        assert polygon.exterior.is_ccw
        for listed in raw(piece, size).get("landmarks", []):
            assert gap([listed["point"]], edge(piece, size, listed["edge"])) < 0.01


@every_size
def test_curves_are_fine_enough(size):
    # A chord c whose ends turn by the angle f rises about c * f / 8 over the chord.
    for piece in PIECES:
        for drawn in raw(piece, size)["edges"]:
            if "path" in drawn:
                continue
            step = np.diff(np.array(drawn["points"]), axis=0)
            chord = np.hypot(*step.T)
            assert chord.min() > 0.05
            turn = np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0]))))
            turn[[vertex - 1 for vertex in drawn.get("turns", [])]] = 0.0
            if len(turn):
                rise = np.minimum(chord[:-1], chord[1:]) * turn / 8
                assert rise.max() <= 0.01, (piece, drawn["name"])


def test_some_edges_are_authored_as_paths():
    found = {
        (piece, drawn["name"])
        for piece in PIECES
        for drawn in raw(piece, "42")["edges"]
        if "path" in drawn
    }
    assert ("back", "hem") in found


def test_pieces_lie_in_frames_of_their_own():
    for size in SIZES:
        assert tilt(90.0, size, "back") == pytest.approx(7.0, abs=0.01)
        assert tilt(90.0, size, "front") == pytest.approx(0.0, abs=0.01)
        for piece, turn in (("facing", 18.0), ("under_bag", 25.0), ("top_bag", 12.0)):
            assert tilt(90.0, size, piece) == pytest.approx(turn, abs=0.01)
    for piece in ("front", "back", "facing", "under_bag", "top_bag", "fly_shield"):
        firsts = {tuple(outline(piece, size)[0]) for size in SIZES}
        assert len(firsts) == len(SIZES)
        assert min(outline(piece, size).min() for size in SIZES) < 0


# --- chart and girths ------------------------------------------------------------------


def test_the_steps_of_the_chart_are_not_even():
    assert CHART["waist"]["36"] == 680
    assert CHART["hip"]["36"] == 920
    steps = {row: np.diff(list(values.values())).tolist() for row, values in CHART.items()}
    assert steps["waist"] == [36, 38, 40, 40, 42, 44, 46, 48]
    assert steps["hip"] == [36, 38, 40, 40, 40, 42, 44, 44]
    assert min(steps["rise"]) > 0


@every_size
def test_waist_girth(size):
    girth = 2 * (length(full(size)[0]) + sum(map(length, back_waist(size))))
    assert girth == pytest.approx(CHART["waist"][size] + 10, abs=0.05)


@every_size
def test_hip_girth(size):
    ends = [
        (full(size)[1], edge("front", size, "centre"), "front"),
        (edge("back", size, "side"), edge("back", size, "centre"), "back"),
    ]
    widths = [
        np.hypot(*(at_level(a, piece, size, "hip") - at_level(b, piece, size, "hip")))
        for a, b, piece in ends
    ]
    assert 2 * sum(widths) == pytest.approx(CHART["hip"][size] + 40, abs=0.05)


@every_size
def test_levels_go_down_the_grain(size):
    rise = CHART["rise"][size] + 6
    for piece in ("front", "back"):
        heights = {n: np.dot(p, grain(piece, size)) for n, p in raw(piece, size)["levels"].items()}
        order = [heights[n] for n in ("waist", "hip", "crotch", "thigh", "knee", "hem")]
        assert all(a > b for a, b in pairwise(order))
        assert order[0] - order[2] == pytest.approx(rise, abs=0.001)
        assert order[0] - order[1] == pytest.approx(CHART["waist_to_hip"][size], abs=0.001)


# --- the seams -------------------------------------------------------------------------


@every_size
def test_side_seams_agree_between_all_notches(size):
    front, back = full(size)[1], edge("back", size, "side")[::-1]
    stops = ("hip_notch", "knee_notch_side")
    for begin, end in pairwise([None, *stops, None]):
        parts = []
        for piece, side in (("front", front), ("back", back)):
            first = side[0] if begin is None else mark(piece, size, begin)
            last = side[-1] if end is None else mark(piece, size, end)
            parts.append(length(between(side, first, last)))
        assert parts[0] == pytest.approx(parts[1], abs=0.02)


@every_size
def test_inseams_agree_between_all_notches(size):
    front, back = edge("front", size, "inseam"), edge("back", size, "inseam")[::-1]
    knees = [mark(piece, size, "knee_notch_inseam") for piece in ("front", "back")]
    for pick in (0, -1):
        parts = [
            length(between(line, line[pick], knee))
            for line, knee in zip((front, back), knees, strict=True)
        ]
        assert parts[0] == pytest.approx(parts[1], abs=0.02)


@every_size
def test_notches_lie_on_their_levels(size):
    for piece in ("front", "back"):
        levels = raw(piece, size)["levels"]
        for name, level in (
            ("hip_notch", "hip"),
            ("knee_notch_side", "knee"),
            ("knee_notch_inseam", "knee"),
        ):
            above = np.dot(mark(piece, size, name) - levels[level], grain(piece, size))
            assert above == pytest.approx(0.0, abs=0.001)


@every_size
def test_corners_at_the_seams(size):
    waist, side = full(size)
    back = {e["name"]: edge("back", size, e["name"]) for e in raw("back", size)["edges"]}
    front = {e["name"]: edge("front", size, e["name"]) for e in raw("front", size)["edges"]}
    at_side = corner(waist, side) + corner(back["side"], back["waist"])
    assert at_side == pytest.approx(180.0, abs=0.5)
    assert corner(back["waist"], back["centre"]) == pytest.approx(90.0, abs=0.3)
    assert corner(front["centre"], front["waist"]) == pytest.approx(90.0, abs=0.3)
    at_hem = corner(front["side"], front["hem"]) + corner(back["hem"], back["side"])
    assert at_hem == pytest.approx(180.0, abs=1.0)
    at_hem = corner(front["hem"], front["inseam"]) + corner(back["inseam"], back["hem"])
    assert at_hem == pytest.approx(180.0, abs=1.0)
    at_fork = corner(front["inseam"], front["centre"]) + corner(back["centre"], back["inseam"])
    assert at_fork == pytest.approx(180.0, abs=1.0)


@every_size
def test_the_waist_runs_smoothly_over_the_closed_dart(size):
    side_part, centre_part = back_waist(size)
    tip = np.array(raw("back", size)["darts"][0]["tip"])
    legs = [np.array([side_part[-1], tip]), np.array([tip, centre_part[0]])]
    assert length(legs[0]) == pytest.approx(length(legs[1]), abs=0.01)
    joined = corner(side_part, legs[0]) + corner(legs[1], centre_part)
    assert joined == pytest.approx(180.0, abs=0.5)
    turns = raw("back", size)["edges"][-1]["turns"]
    waist = edge("back", size, "waist")
    assert waist[turns].tolist() == [side_part[-1].tolist(), centre_part[0].tolist()]


@every_size
def test_the_side_bends_once_above_the_hip_and_runs_on_smoothly(size):
    for piece, side in (("front", full(size)[1]), ("back", edge("back", size, "side")[::-1])):
        hip = mark(piece, size, "hip_notch")
        above = between(side, side[0], hip)
        step = np.diff(above, axis=0)
        turn = np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
        inward = 1 if piece == "front" else -1
        assert (inward * turn).min() > 0
        assert np.degrees(np.abs(turn.sum())) > 8
        before = direction(above[::-1])
        after = direction(between(side, hip, side[-1]))
        assert abs((before - after) % 180 - 180 * ((before - after) % 180 > 90)) < 0.2
        assert tilt(before, size, piece) < 1.0


@every_size
def test_front_and_back_side_have_nearly_the_same_shape_on_the_leg(size):
    def in_place(piece, side):
        hip = mark(piece, size, "hip_notch")
        down = -grain(piece, size)
        out = np.array([down[1], -down[0]]) * (1 if piece == "front" else -1)
        rest = between(side, hip, side[-1]) - hip
        return np.column_stack([rest @ out, rest @ down])

    front = in_place("front", full(size)[1])
    back = in_place("back", edge("back", size, "side")[::-1])
    assert gap(back, front) < 1.0


# --- the pocket ------------------------------------------------------------------------


@every_size
def test_the_mouth_is_the_same_in_every_size(size):
    mouth, first = edge("front", size, "mouth"), edge("front", SIZES[0], "mouth")
    assert length(mouth) == pytest.approx(165.0, abs=0.01)
    laid = rigid(mouth[[0, -1]], first[[0, -1]])(mouth)
    assert laid == pytest.approx(first, abs=0.001)
    from_side = length(full(size)[0]) - length(edge("front", size, "waist"))
    assert 35 <= from_side <= 40.01
    top = on_front("top_bag", size)(edge("top_bag", size, "mouth"))[::-1]
    assert top == pytest.approx(mouth, abs=0.001)


@every_size
@pytest.mark.parametrize("piece", LAYERS)
def test_layers_lie_on_the_mouth_and_ride_on_the_silhouette(size, piece):
    move, (waist, side) = on_front(piece, size), full(size)
    for name, end in zip(LAYERS[piece], ("mouth.start", "mouth.end"), strict=True):
        assert move(mark(piece, size, name)) == pytest.approx(mark("front", size, end), abs=0.01)
    assert gap(move(edge(piece, size, "waist")), waist) < 0.01
    assert gap(move(edge(piece, size, "side")), side) < 0.01
    turned = move(np.array(raw(piece, size)["grain"]))
    along = turned[1] - turned[0]
    assert tilt(np.degrees(np.arctan2(*along[::-1])), size, "front") < 0.01


@every_size
def test_the_facing_backs_the_mouth(size):
    move = on_front("facing", size)
    behind = between(
        edge("facing", size, "waist"),
        mark("facing", size, "waist.start"),
        mark("facing", size, "mouth_top"),
    )
    below = between(
        edge("facing", size, "side"),
        mark("facing", size, "mouth_low"),
        mark("facing", size, "side.end"),
    )
    assert 25 <= length(behind) <= 35
    assert length(below) == pytest.approx(25.0, abs=0.01)
    away = [
        LineString(edge("front", size, "mouth")).distance(Point(point))
        for point in move(edge("facing", size, "inner"))
    ]
    assert max(away) < 32.0


@every_size
def test_the_bags_are_sewn_together(size):
    under, top = edge("under_bag", size, "bag"), edge("top_bag", size, "bag")[::-1]
    assert length(under) == pytest.approx(length(top), abs=0.01)
    laid = on_front("top_bag", size)(top)
    assert laid == pytest.approx(on_front("under_bag", size)(under), abs=0.01)
    notches = [
        length(between(line, line[0], mark(piece, size, "bag_notch")))
        for piece, line in (("under_bag", under), ("top_bag", top))
    ]
    assert notches[0] == pytest.approx(notches[1], abs=0.01)


@every_size
def test_the_bag_is_deep_enough_and_keeps_clear(size):
    bag = on_front("under_bag", size)(edge("under_bag", size, "bag"))
    low = mark("front", size, "mouth.end")
    assert 80 <= low[1] - bag[:, 1].min() <= 120
    assert bag[:, 1].min() - raw("front", size)["levels"]["crotch"][1] >= 12
    assert LineString(bag).distance(LineString(edge("front", size, "centre"))) > 40
    side = edge("under_bag", size, "side")
    below = length(between(side, mark("under_bag", size, "mouth_low"), side[-1]))
    assert 60 <= below <= 90


# --- band, fly, welt, loop -------------------------------------------------------------


@every_size
def test_band_zones_equal_their_runs(size):
    lower = edge("waistband", size, "lower")
    (band,) = TOML["band"]
    place = lower[0]
    for zone in band["zones"]:
        ends = [
            mark("waistband", size, f"lower.{name}" if name in ("start", "end") else name)
            for name in (zone["begin"], zone["end"])
        ]
        assert ends[0].tolist() == place.tolist()
        place = ends[1]
        if "run" in zone:
            here = length(between(lower, *ends))
            assert here == pytest.approx(run_length(zone["run"], size), abs=0.01)
    assert place.tolist() == lower[-1].tolist()


@every_size
def test_the_fly_equals_the_centre_above_its_notch(size):
    centre = edge("front", size, "centre")
    fly = length(between(centre, mark("front", size, "fly_notch"), centre[-1]))
    assert fly == pytest.approx(round(0.6 * CHART["rise"][size]), abs=0.02)
    for piece in ("fly_extension", "fly_shield"):
        assert length(edge(piece, size, "centre")) == pytest.approx(fly, abs=0.02)
    hip = raw("front", size)["levels"]["hip"][1]
    assert mark("front", size, "fly_notch")[1] > hip + 10


def test_the_fly_grows_with_the_rise():
    fly = [length(edge("fly_shield", size, "centre")) for size in SIZES]
    assert all(a < b for a, b in pairwise(fly))


@every_size
def test_the_welt_fits_its_line(size):
    (line,) = [item["points"] for item in raw("back", size)["lines"] if item["name"] == "welt"]
    assert length(np.array(line)) == pytest.approx(130.0, abs=0.001)
    assert length(edge("welt", size, "sewn")) == 130.0
    drilled = {item["name"]: item["point"] for item in raw("back", size)["drills"]}
    assert [drilled["welt_side"], drilled["welt_centre"]] == line
    assert Polygon(outline("back", size)).buffer(-15).contains(LineString(line))
    top = [mark("welt_bag", size, name) for name in ("welt_left", "welt_right")]
    assert np.hypot(*(top[1] - top[0])) == pytest.approx(130.0, abs=0.001)


def test_the_belt_loop_is_the_same_in_every_size():
    assert all(raw("belt_loop", size) == raw("belt_loop", SIZES[0]) for size in SIZES)


# --- the relations ---------------------------------------------------------------------


@every_size
def test_declared_seams_walk(size):
    for seam in TOML["seam"]:
        if not seam.get("mirror"):
            lead, follow = (run_length(seam[key], size) for key in ("lead", "follow"))
            assert lead == pytest.approx(follow, abs=0.02), seam["name"]


def test_named_relations_speak_of_drawn_things():
    for place in TOML["place"]:
        assert place["piece"] in PIECES
        assert place["level"] in raw("front", "42")["levels"]
    for texts in TOML["assembly"][0]["edges"].values():
        for text in texts:
            span = parse_span(text)
            assert len(edge(span.piece, "42", span.edge)) >= 2
