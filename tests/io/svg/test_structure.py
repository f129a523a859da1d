"""How drawings of other programs are laid out: groups, names, marks, sizes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from propagate.errors import FormatError
from propagate.io.options import ReadOptions
from propagate.io.svg.read import read_drawings
from propagate.pattern.validate import find_problems
from tests.io.svg.drawings import PAGE, only, read_text, svg

INK = "http://www.inkscape.org/namespaces/inkscape"
# A skirt front: fold on the left, waist on top, curved side, hem.
EDGES = {
    "hem": "M20 400 L180 400",
    "side": "M160 30 C170 90 180 160 180 200 L180 400",
    "waist": "M20 20 Q90 20 160 30",
    "centre": "M20 20 V400",
}
GRAIN = '<line id="grain" x1="90" y1="300" x2="90" y2="120"/>'
WHOLE = "M20 20 Q90 20 160 30 C170 90 180 160 180 200 L180 400 L20 400 Z"


def edges(names: dict[str, str] | None = None, skip: str = "") -> str:
    named = names or {}
    return "".join(
        f'<path id="{named.get(name, name)}" d="{d}"/>' for name, d in EDGES.items() if name != skip
    )


def test_paths_with_ids_are_edges_however_they_run(tmp_path: Path) -> None:
    pattern, report = read_text(tmp_path, svg(f'<g id="front">{edges()}{GRAIN}</g>'))
    piece = only(pattern)
    assert list(pattern.pieces) == ["front"]
    assert piece.edge_names == ("hem", "side", "waist", "centre")
    assert piece.edge("side").path is not None
    assert piece.grain.start == (90.0, -300.0)
    assert piece.grain.end == (90.0, -120.0)
    assert not find_problems(pattern)
    assert not report.of("warning", "lost")


def test_a_whole_outline_is_split_at_its_corners(tmp_path: Path) -> None:
    pattern, report = read_text(tmp_path, svg(f'<g id="front"><path d="{WHOLE}"/>{GRAIN}</g>'))
    piece = only(pattern)
    assert set(piece.edge_names) == {"top", "side", "hem", "centre"}
    apart, _ = read_text(tmp_path, svg(f'<g id="front">{edges()}{GRAIN}</g>'))
    for name, other in {"top": "waist", "side": "side", "hem": "hem", "centre": "centre"}.items():
        assert piece.edge(name).length == pytest.approx(only(apart).edge(other).length, abs=1e-6)
    assert any(line.option == "--corner-angle" for line in report.of("assumed"))


def test_a_polyline_gives_the_same_corners(tmp_path: Path) -> None:
    smooth, _ = read_text(tmp_path, svg(f'<g id="front"><path d="{WHOLE}"/>{GRAIN}</g>'))
    points = " ".join(f"{x:.3f},{-y:.3f}" for x, y in only(smooth).outline)
    body = f'<g id="front"><polygon points="{points}"/>{GRAIN}</g>'
    coarse, _ = read_text(tmp_path, svg(body))
    assert only(coarse).edge_names == only(smooth).edge_names
    for a, b in zip(only(coarse).edges, only(smooth).edges, strict=True):
        assert a.length == pytest.approx(b.length, abs=0.01)


def test_a_gap_is_closed_and_said(tmp_path: Path) -> None:
    body = f'<g id="front">{edges(skip="hem")}<path id="hem" d="M20.04 400 L179.97 400"/></g>'
    pattern, report = read_text(tmp_path, svg(body))
    assert not find_problems(pattern)
    (line,) = report.of("repaired")
    assert "0.04 mm" in line.text
    assert line.option == "--join"


def test_a_wide_gap_is_an_error_that_names_the_option(tmp_path: Path) -> None:
    body = f'<g id="front">{edges(skip="hem")}<path id="hem" d="M22 400 L179 400"/></g>'
    with pytest.raises(FormatError, match="--join"):
        read_text(tmp_path, svg(body))
    pattern, _ = read_text(tmp_path, svg(body), ReadOptions(join=3.0))
    assert only(pattern).edge_names == ("hem", "side", "waist", "centre") or set(
        only(pattern).edge_names
    ) == {"hem", "side", "waist", "centre"}


def test_lines_inside_that_meet_the_outline_are_not_edges(tmp_path: Path) -> None:
    inside = '<path id="yoke" d="M20 20 L180 400"/><path id="dart_a" d="M100 90 L90 150"/>'
    pattern, _ = read_text(tmp_path, svg(f'<g id="front">{edges()}{inside}{GRAIN}</g>'))
    piece = only(pattern)
    assert set(piece.edge_names) == {"hem", "side", "waist", "centre"}
    assert {line.name for line in piece.lines} == {"yoke", "dart_a"}


def test_loose_outlines_are_pieces_and_share_out_the_marks(tmp_path: Path) -> None:
    body = (
        '<g id="layer1"><rect id="front" x="10" y="10" width="100" height="200"/>'
        '<rect id="back" x="150" y="10" width="120" height="200"/>'
        '<line id="grain-1" x1="60" y1="30" x2="60" y2="150"/>'
        '<line id="grain-2" x1="200" y1="150" x2="200" y2="30"/>'
        '<circle cx="210" cy="60" r="2"/><path d="M300 300L340 340"/></g>'
    )
    pattern, report = read_text(tmp_path, svg(body))
    assert list(pattern.pieces) == ["front", "back"]
    assert pattern.sized("front", "38").grain.start == (60.0, -30.0)
    assert pattern.sized("back", "38").grain.start == (200.0, -150.0)
    assert [mark.point for mark in pattern.sized("back", "38").drills] == [(210.0, -60.0)]
    assert any("on no piece" in line.text for line in report.of("ignored"))


def test_edges_named_by_piece_and_edge(tmp_path: Path) -> None:
    body = edges({name: f"front.{name}" for name in EDGES})
    pattern, _ = read_text(tmp_path, svg(body))
    assert list(pattern.pieces) == ["front"]
    assert set(only(pattern).edge_names) == set(EDGES)


def test_labels_and_coded_ids_are_names(tmp_path: Path) -> None:
    body = (
        f'<g xmlns:i="{INK}" i:label="left front" id="g7">'
        f'<path id="path1" d="{WHOLE}"/></g>'
        '<g id="bag_x5F_1"><rect x="300" y="0" width="50" height="90"/></g>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    assert list(pattern.pieces) == ["left_front", "bag_1"]


def test_a_seam_line_inside_a_cut_line_is_the_outline(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect x="0" y="0" width="120" height="220"/>'
        '<rect id="seam_line" x="10" y="10" width="100" height="200"/></g>'
    )
    pattern, report = read_text(tmp_path, svg(body))
    assert np.ptp(only(pattern).outline, axis=0) == pytest.approx([100, 200])
    assert any("reaches out" in line.text for line in report.of("ignored"))


def test_a_closed_line_inside_is_an_internal_line(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect x="0" y="0" width="200" height="300"/>'
        '<g id="pocket"><rect x="40" y="80" width="90" height="100"/></g></g>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    assert list(pattern.pieces) == ["front"]
    assert len(only(pattern).lines) == 1


@pytest.mark.parametrize(
    ("mark", "place"),
    [
        ('<path d="M100 100 L105 100"/>', (100.0, -100.0)),  # outwards
        ('<path d="M95 100 L100 100"/>', (100.0, -100.0)),  # inwards
        ('<path d="M103 100 L97 100"/>', (100.0, -100.0)),  # across
        ('<polyline points="100,97 95,100 100,103"/>', (100.0, -100.0)),  # a V
        ('<polygon points="100,97 106,100 100,103"/>', (100.0, -100.0)),  # a triangle
        ('<line id="notch-side" x1="100.3" y1="100" x2="108" y2="100"/>', (100.0, -100.0)),
    ],
)
def test_short_marks_on_the_outline_are_notches(
    tmp_path: Path, mark: str, place: tuple[float, float]
) -> None:
    body = f'<g id="front"><rect width="100" height="200"/>{mark}</g>'
    pattern, report = read_text(tmp_path, svg(body))
    (found,) = only(pattern).landmarks
    assert found.kind == "notch"
    assert found.point == pytest.approx(place, abs=1e-6)
    assert found.edge == "right"
    assert not find_problems(pattern)
    assert report.of("assumed", "repaired")


def test_a_long_line_or_one_inside_is_no_notch(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect width="100" height="200"/>'
        '<path d="M40 90 L48 90"/><path d="M100 50 L60 50"/></g>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    assert not only(pattern).landmarks
    assert len(only(pattern).lines) == 2


def test_text_beside_and_hidden_things_are_counted_and_left_out(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect width="100" height="200"/><text x="150" y="9">Note</text></g>'
        '<g style="display:none"><rect x="200" width="90" height="90"/></g>'
        '<image width="9" height="9"/>'
    )
    pattern, report = read_text(tmp_path, svg(body))
    assert list(pattern.pieces) == ["front"]
    assert {line.text for line in report.of("ignored")} == {
        "a text that stands on no piece",
        "what is hidden in the drawing",
        "the element 'image'",
    }


def test_no_grain_line_is_an_assumption(tmp_path: Path) -> None:
    pattern, report = read_text(tmp_path, svg('<rect id="front" width="100" height="200"/>'))
    assert only(pattern).grain.direction == pytest.approx([0.0, 1.0])
    assert any("grain" in line.text for line in report.of("assumed"))


# -------------------------------------------------------------------------------- sizes


def nest(names: list[str], *, copies: bool = False) -> str:
    groups = []
    for number, name in enumerate(names):
        suffix = f"-{number}" if copies and number else ""
        inner = edges({edge: edge + suffix for edge in EDGES})
        scale = 1 + 0.05 * number
        groups.append(
            f'<g id="{name}" transform="scale({scale})"><g id="front{suffix}">{inner}</g></g>'
        )
    return svg("".join(groups))


@pytest.mark.parametrize(
    ("names", "sizes"),
    [
        (["36", "38", "40"], ("36", "38", "40")),
        (["40", "36", "38"], ("36", "38", "40")),
        (["L", "S", "M"], ("S", "M", "L")),
        (["2XL", "XS", "L"], ("XS", "L", "2XL")),
        (["size-8", "size-10", "size-12"], ("8", "10", "12")),
    ],
)
def test_a_group_for_each_size(tmp_path: Path, names: list[str], sizes: tuple[str, ...]) -> None:
    pattern, _ = read_text(tmp_path, nest(names))
    assert pattern.sizes == sizes
    assert pattern.base == sizes[1]
    assert not find_problems(pattern)
    lengths = {size: pattern.sized("front", size).edge("hem").length for size in sizes}
    assert sorted(lengths.values()) == pytest.approx([160.0, 168.0, 176.0])


def test_groups_of_any_name_are_sizes_when_asked(tmp_path: Path) -> None:
    pattern, _ = read_text(tmp_path, nest(["small", "wide"]), ReadOptions(sizes=("small", "wide")))
    assert pattern.sizes == ("small", "wide")


@pytest.mark.parametrize("said", ["{}", "size-{}", "data"])
def test_sizes_that_are_not_asked_for_are_left_out_and_told(tmp_path: Path, said: str) -> None:
    text = nest(["36", "38", "40"])
    for size in ("36", "38", "40"):
        named = f'id="x{size}" data-size="{size}"' if said == "data" else f'id="{said}"'
        text = text.replace(f'id="{size}"', named.format(size))
    whole, report = read_text(tmp_path, text)
    assert not [line for line in report.of("ignored") if line.option == "--sizes"]
    found, report = read_text(tmp_path, text, ReadOptions(sizes=("36", "40")))
    assert found.sizes == ("36", "40")
    for size in found.sizes:
        one, other = (pattern.sized("front", size) for pattern in (found, whole))
        assert np.array_equal(one.outline, other.outline)
    told = [line.text for line in report.of("ignored") if line.option == "--sizes"]
    assert told == ["sizes that --sizes does not name are left out: 38"]


def test_ids_that_a_program_made_unique_are_the_same_names(tmp_path: Path) -> None:
    text = nest(["36", "38"], copies=True).replace('id="front-1"', 'id="front"')
    pattern, _ = read_text(tmp_path, text)
    assert pattern.sized("front", "38").edge_names == pattern.sized("front", "36").edge_names
    assert not find_problems(pattern)


def test_one_file_for_each_size(tmp_path: Path) -> None:
    for number, size in enumerate(["S", "M", "L"]):
        body = f'<g id="front" transform="scale({1 + 0.04 * number})">{edges()}</g>'
        (tmp_path / f"skirt_{size}.svg").write_text(svg(body))
    pattern, report = read_drawings([tmp_path])
    assert pattern.sizes == ("S", "M", "L")
    assert not find_problems(pattern)
    assert any("names of the files" in line.text for line in report.of("assumed"))


def test_files_whose_names_tell_no_size_are_an_error(tmp_path: Path) -> None:
    for name in ("front", "other_thing"):
        (tmp_path / f"{name}.svg").write_text(svg(f'<g id="front">{edges()}</g>'))
    with pytest.raises(FormatError, match="--sizes"):
        read_drawings([tmp_path])
    pattern, _ = read_drawings([tmp_path], ReadOptions(sizes=("36", "38")))
    assert pattern.sizes == ("36", "38")


def test_a_piece_that_a_size_lacks_is_named(tmp_path: Path) -> None:
    body = (
        f'<g id="36"><g id="front">{edges()}</g></g>'
        f'<g id="38"><g id="front">{edges()}</g>'
        '<g id="bag"><rect x="300" width="50" height="90"/></g></g>'
    )
    with pytest.raises(FormatError, match=r"size '38' has 'bag', which size '36' lacks"):
        read_text(tmp_path, svg(body))


def test_a_corner_that_a_size_lacks_is_named(tmp_path: Path) -> None:
    body = (
        '<g id="36"><g id="front"><path d="M0 0H100V200H0Z"/></g></g>'
        '<g id="38"><g id="front"><path d="M0 0H60A40 40 0 0 1 100 40V200H0Z"/></g></g>'
    )
    with pytest.raises(FormatError, match=r"size '38'.*corner.*--corner-angle"):
        read_text(tmp_path, svg(body))


def test_outlines_that_start_elsewhere_and_run_the_other_way_agree(tmp_path: Path) -> None:
    ring = np.array([(0, 0), (100, 0), (120, 150), (60, 210), (0, 200)], dtype=float)

    def polygon(points: np.ndarray) -> str:
        return '<polygon points="' + " ".join(f"{x},{y}" for x, y in points) + '"/>'

    body = (
        f'<g id="36"><g id="front">{polygon(ring)}</g></g>'
        f'<g id="38"><g id="front">{polygon(np.roll(ring[::-1] * 1.04, 2, axis=0))}</g></g>'
        f'<g id="40"><g id="front">{polygon(np.roll(ring * 1.08, 3, axis=0))}</g></g>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    assert not find_problems(pattern)
    names = pattern.sized("front", "36").edge_names
    for size, factor in (("38", 1.04), ("40", 1.08)):
        for name in names:
            small = pattern.sized("front", "36").edge(name).length
            assert pattern.sized("front", size).edge(name).length == pytest.approx(small * factor)


def test_a_mark_that_not_every_size_has_is_left_out_and_said(tmp_path: Path) -> None:
    def front(size: str, mark: str) -> str:
        return f'<g id="{size}"><g id="front"><rect width="100" height="200"/>{mark}</g></g>'

    body = front("36", '<path id="notch_hip" d="M100 90h5"/>') + front("38", "")
    pattern, report = read_text(tmp_path, svg(body))
    assert not find_problems(pattern)
    assert not only(pattern).landmarks
    assert any("notch_hip" in line.text for line in report.of("warning"))


def test_the_page_may_be_without_a_namespace(tmp_path: Path) -> None:
    pattern, report = read_text(
        tmp_path, '<svg width="300" height="300"><rect id="a1" width="100" height="200"/></svg>'
    )
    assert list(pattern.pieces) == ["a1"]
    assert report.of("repaired")


def test_groups_can_be_left_out(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect width="100" height="200"/></g>'
        '<g id="frame"><rect x="150" width="300" height="300"/></g>'
    )
    pattern, report = read_text(tmp_path, svg(body, PAGE), ReadOptions(ignore=("frame",)))
    assert list(pattern.pieces) == ["front"]
    assert any("frame" in line.text for line in report.of("ignored"))


def test_levels_take_their_names_from_ids(tmp_path: Path) -> None:
    body = (
        '<g id="front"><rect width="100" height="200"/>'
        '<path id="level-hip" d="M0 80H100"/><path id="level_knee" d="M0 150H100"/></g>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    assert only(pattern).levels == {"hip": (0.0, -80.0), "knee": (0.0, -150.0)}
    assert pattern.lay_on == "hip"


def test_a_flat_corner_and_the_seam_line_are_told(tmp_path: Path) -> None:
    outline = '<path id="front" d="M10 10H110V210L83 310H10Z"/>'
    _, report = read_text(tmp_path, svg(outline))
    lines = [str(line) for line in report.lines]
    # atan(27 / 100) is 15.1 degrees
    assert any("a turn of 15 degrees" in line and "--corner-angle 15" in line for line in lines)
    assert any("taken as seam lines" in line for line in lines)
    pattern, again = read_text(tmp_path, svg(outline), ReadOptions(corner_angle=15.0))
    assert len(next(iter(pattern.pieces["front"].nest.values())).edges) == 5
    assert not any("was not taken as a corner" in str(line) for line in again.lines)


@pytest.mark.parametrize(
    "fold",
    [
        '<polyline id="fold" points="50,100 50,300"/>',
        '<polyline id="fold" points="50,280 50,120"/>',
        '<line id="fold-front" x1="50.2" y1="120" x2="50.2" y2="280"/>',
    ],
)
@pytest.mark.parametrize("whole", [True, False])
def test_a_fold_line_drawn_on_an_edge_puts_the_edge_on_the_fold(
    tmp_path: Path, fold: str, whole: bool
) -> None:
    edges = (
        '<polygon id="outline" points="50,300 150,300 150,100 50,100"/>'
        if whole
        else '<polyline id="hem" points="50,300 150,300"/><polyline id="side" '
        'points="150,300 150,100"/><polyline id="waist" points="150,100 50,100"/>'
        '<polyline id="centre" points="50,100 50,300"/>'
    )
    pattern, _ = read_text(tmp_path, svg(f'<g id="front">{edges}{fold}</g>'))
    assert pattern.info["front"].fold == "centre"
    assert len(only(pattern).edges) == 4
    assert not only(pattern).lines
