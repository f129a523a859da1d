"""Units, view boxes and transforms, worked by hand or with numpy."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from propagate.errors import FormatError
from propagate.io.options import ReadOptions
from propagate.io.svg.scale import parse_transform
from tests.io.svg.drawings import PAGE, only, read_text, svg

XMLNS = 'xmlns="http://www.w3.org/2000/svg"'
BOX = '<rect id="front" x="10" y="20" width="100" height="200"/>'


def size_of(folder: Path, page: str, body: str = BOX, **options: object) -> np.ndarray:
    pattern, _ = read_text(folder, svg(body, page), ReadOptions(**options))
    return np.ptp(only(pattern).outline, axis=0)


@pytest.mark.parametrize(
    ("page", "mm"),
    [
        # 1 in = 25.4 mm exactly; CSS: 96 px, 72 pt, 6 pc to the inch, 1 Q = 0.25 mm.
        (f'{XMLNS} width="500mm" height="500mm" viewBox="0 0 500 500"', 1.0),
        (f'{XMLNS} width="50cm" height="50cm" viewBox="0 0 500 500"', 1.0),
        (f'{XMLNS} width="10in" height="10in" viewBox="0 0 500 500"', 0.508),
        (f'{XMLNS} width="720pt" height="720pt" viewBox="0 0 500 500"', 0.508),
        (f'{XMLNS} width="60pc" height="60pc" viewBox="0 0 500 500"', 0.508),
        (f'{XMLNS} width="2000Q" height="2000Q" viewBox="0 0 500 500"', 1.0),
        (f'{XMLNS} width="960" height="960" viewBox="0 0 500 500"', 0.508),
        (f'{XMLNS} width="960px" height="960px" viewBox="0 0 500 500"', 0.508),
        (f'{XMLNS} width="960" height="960"', 25.4 / 96),
        (f'{XMLNS} viewBox="0 0 500 500"', 25.4 / 96),
        (f'{XMLNS} width="100%" height="100%" viewBox="0 0 500 500"', 25.4 / 96),
        (f'{XMLNS} width="500mm" viewBox="0 0 500 500"', 1.0),
        # A view box that starts elsewhere changes no length.
        (f'{XMLNS} width="500mm" height="500mm" viewBox="-70 30 500 500"', 1.0),
    ],
)
def test_units_by_hand(tmp_path: Path, page: str, mm: float) -> None:
    assert size_of(tmp_path, page) == pytest.approx([100 * mm, 200 * mm], abs=1e-6)


def test_an_uneven_page_takes_the_smaller_scale_and_says_so(tmp_path: Path) -> None:
    page = f'{XMLNS} width="500mm" height="1000mm" viewBox="0 0 500 500"'
    pattern, report = read_text(tmp_path, svg(BOX, page))
    assert np.ptp(only(pattern).outline, axis=0) == pytest.approx([100, 200])
    assert any("smaller" in line.text for line in report.of("assumed"))


def test_a_stretched_page_is_followed(tmp_path: Path) -> None:
    page = f'{XMLNS} width="500mm" height="1000mm" viewBox="0 0 500 500"'
    page += ' preserveAspectRatio="none"'
    pattern, report = read_text(tmp_path, svg(BOX, page))
    assert np.ptp(only(pattern).outline, axis=0) == pytest.approx([100, 400])
    assert report.of("warning")


@pytest.mark.parametrize(("dpi", "mm"), [(72.0, 25.4 / 72), (90.0, 25.4 / 90)])
def test_dots_per_inch_are_an_option(tmp_path: Path, dpi: float, mm: float) -> None:
    found = size_of(tmp_path, f'{XMLNS} viewBox="0 0 500 500"', dpi=dpi)
    assert found == pytest.approx([100 * mm, 200 * mm], abs=1e-6)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_the_unit_is_an_option(tmp_path: Path, unit: str, mm: float) -> None:
    found = size_of(tmp_path, f'{XMLNS} viewBox="0 0 500 500"', unit=unit)
    assert found == pytest.approx([100 * mm, 200 * mm])


def test_every_assumption_on_units_names_its_option(tmp_path: Path) -> None:
    _, report = read_text(tmp_path, svg(BOX, f'{XMLNS} viewBox="0 0 500 500"'))
    lines = [line for line in report.of("assumed") if "size of its page" in line.text]
    assert [line.option for line in lines] == ["--unit or --dpi"]


# ---------------------------------------------------------------------------- transforms


def by_hand(kind: str, *v: float) -> np.ndarray:
    """The 3×3 matrices of SVG 1.1, 7.6 (from memory)."""
    one = np.eye(3)
    if kind == "translate":
        one[:2, 2] = v
    elif kind == "scale":
        one[0, 0], one[1, 1] = v
    elif kind == "rotate":
        c, s = np.cos(np.radians(v[0])), np.sin(np.radians(v[0]))
        one[:2, :2] = [[c, -s], [s, c]]
    elif kind == "matrix":
        one[:2] = np.reshape(v, (3, 2)).T
    elif kind == "skewX":
        one[0, 1] = np.tan(np.radians(v[0]))
    elif kind == "skewY":
        one[1, 0] = np.tan(np.radians(v[0]))
    return one


def test_nested_transforms_against_numpy(tmp_path: Path) -> None:
    body = (
        '<g transform="translate(30 40)">'
        '<g transform="rotate(25) scale(1.5, 0.75)">'
        '<g transform="matrix(0.9 0.2 -0.3 1.1 5 -7), skewX(10)">'
        '<g transform="rotate(-40, 12, 8)">'
        '<polygon id="front" points="0,0 80,0 100,60 20,90"/></g></g></g></g>'
    )
    whole = (
        by_hand("translate", 30, 40)
        @ by_hand("rotate", 25)
        @ by_hand("scale", 1.5, 0.75)
        @ by_hand("matrix", 0.9, 0.2, -0.3, 1.1, 5, -7)
        @ by_hand("skewX", 10)
        @ by_hand("translate", 12, 8)
        @ by_hand("rotate", -40)
        @ by_hand("translate", -12, -8)
    )
    corners = np.array([[0, 0, 1], [80, 0, 1], [100, 60, 1], [20, 90, 1]]) @ whole.T
    expected = {(round(x, 4), round(-y, 4)) for x, y, _ in corners}
    pattern, _ = read_text(tmp_path, svg(body))
    found = {(round(x, 4), round(y, 4)) for x, y in only(pattern).outline.tolist()}
    assert found == expected


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        ("translate(3)", [("translate", 3, 0)]),
        ("scale(2)", [("scale", 2, 2)]),
        ("skewY(12)translate(1,2)", [("skewY", 12), ("translate", 1, 2)]),
        (" rotate( 1e1 ) ,scale(.5-.5) ", [("rotate", 10), ("scale", 0.5, -0.5)]),
        ("", []),
    ],
)
def test_forms_of_a_transform(text: str, steps: list[tuple]) -> None:
    whole = np.eye(3)
    for kind, *values in steps:
        whole = whole @ by_hand(kind, *values)
    m = parse_transform(text)
    assert [m.a, m.b, m.c, m.d, m.e, m.f] == pytest.approx(whole[:2].T.ravel().tolist())


@pytest.mark.parametrize(
    "text", ["rotate(1", "turn(3)", "scale()", "matrix(1 2 3)", "rotate(1 2)", "scale(nan)", "x"]
)
def test_a_broken_transform_is_refused(text: str) -> None:
    with pytest.raises(FormatError, match="transform"):
        parse_transform(text)


def test_use_symbol_and_nested_viewport(tmp_path: Path) -> None:
    body = (
        '<defs><path id="shape" d="M0 0H50V80H0Z"/></defs>'
        '<svg x="10" y="10" width="200" height="200" viewBox="0 0 100 100">'
        '<use id="front" href="#shape" x="5" y="6" transform="scale(1 0.5)"/></svg>'
    )
    pattern, _ = read_text(tmp_path, svg(body))
    # twice as large by the viewport, half as high by the transform
    assert np.ptp(only(pattern).outline, axis=0) == pytest.approx([100, 80])
    assert list(pattern.pieces) == ["front"]
    assert only(pattern).outline[:, 0].min() == pytest.approx(10 + 2 * 5)
    assert only(pattern).outline[:, 1].max() == pytest.approx(-(10 + 2 * 0.5 * 6))


def test_arcs_under_a_shear_keep_their_area(tmp_path: Path) -> None:
    body = (
        '<g transform="skewX(30) scale(2 1)">'
        '<path id="front" d="M0 0 A60 40 15 0 1 80 60 A60 40 15 0 1 0 0z"/></g>'
    )
    plain = '<path id="front" d="M0 0 A60 40 15 0 1 80 60 A60 40 15 0 1 0 0z"/>'

    def area(text: str) -> float:
        x, y = only(read_text(tmp_path, svg(text))[0]).outline.T
        return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2

    # A shear keeps areas; the determinant is 2.  Chords lie 0.01 mm inside the curve at most.
    assert area(body) == pytest.approx(2 * area(plain), rel=5e-4)


def test_y_points_up(tmp_path: Path) -> None:
    pattern, _ = read_text(tmp_path, svg('<path id="front" d="M0 0 L100 0 L100 200 L0 100 Z"/>'))
    outline = only(pattern).outline
    x, y = outline.T
    assert float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0
    assert outline[:, 1].min() == -200.0
    assert math.isclose(outline[:, 1].max(), 0.0, abs_tol=1e-9)


def test_points_that_cannot_be_millimetres_are_refused(tmp_path: Path) -> None:
    body = '<rect id="front" width="9e9" height="100"/>'
    with pytest.raises(FormatError, match=r"unit.*--unit"):
        read_text(tmp_path, svg(body, PAGE))
