"""``propagate convert``: between every pair of forms, with what is lost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from propagate.demo import demo_path
from propagate.io.folder import load
from tests.cli.conftest import plain, run
from tests.shared import demo

SKIRT = demo_path("scoop_skirt")
FORMS = {"svg": "out.svg", "svg-folder": "out", "json": "out", "set": "out"}


def assert_same_geometry(one: Path, two: Path, within: float) -> None:
    a, b = load(one), load(two)
    assert a.sizes == b.sizes
    assert set(a.pieces) == set(b.pieces)
    for name in a.pieces:
        for size in a.sizes:
            p, q = a.sized(name, size), b.sized(name, size)
            assert p.edge_names == q.edge_names
            assert np.abs(p.outline - q.outline).max() <= within
            assert {m.name for m in p.landmarks} == {m.name for m in q.landmarks}
            assert np.abs(p.grain.direction - q.grain.direction).max() <= 1e-6 + within / 20


@pytest.mark.parametrize("form", FORMS)
def test_there_and_back(tmp_path: Path, form: str) -> None:
    target = tmp_path / FORMS[form]
    done = run("convert", str(SKIRT), str(target), "--to", form)
    assert done.exit_code == 0, done.output
    back = run("convert", str(target), str(tmp_path / "back"), "--base", "M")
    assert back.exit_code == 0, back.output
    assert_same_geometry(SKIRT, tmp_path / "back", 1e-6)


@pytest.mark.parametrize("form", ["dxf", "dxf-rules"])
def test_there_and_back_by_the_interchange_standard(tmp_path: Path, form: str) -> None:
    pytest.importorskip("propagate.io.dxf.write")
    target = tmp_path / "out.dxf"
    done = run("convert", str(SKIRT), str(target), "--to", form)
    assert done.exit_code == 0, done.output
    back = run("convert", str(target), str(tmp_path / "back"), "--base", "M")
    assert back.exit_code == 0, back.output
    a, b = demo("scoop_skirt"), load(tmp_path / "back")
    for name in a.pieces:
        for size in a.sizes:
            for edge in a.sized(name, size).edges:
                found = b.sized(name, size).edge(edge.name)
                assert found.length == pytest.approx(edge.length, abs=0.02)


def test_the_form_follows_from_the_name(tmp_path: Path) -> None:
    for name, form in (("a.svg", "svg"), ("b", "set")):
        said = plain(run("convert", str(SKIRT), str(tmp_path / name), "--json"))
        assert said["to"] == form
    done = run("convert", str(SKIRT), str(tmp_path / "c.pdf"))
    assert done.exit_code == 2
    assert "--to" in done.output


def test_what_is_not_carried_is_listed(tmp_path: Path) -> None:
    done = run("convert", str(SKIRT), str(tmp_path / "a.svg"))
    assert "Not carried" in done.output
    for word in ("seams", "chart", "allowances", "anchors"):
        assert word in done.output
    said = plain(run("convert", str(SKIRT), str(tmp_path / "b"), "--to", "json", "--json"))
    assert any(line["kind"] == "lost" for line in said["writing"]["lines"])


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    target = tmp_path / "a.svg"
    target.write_text("mine")
    done = run("convert", str(SKIRT), str(target))
    assert done.exit_code == 2
    assert target.read_text() == "mine"
    assert run("convert", str(SKIRT), str(target), "--replace").exit_code == 2
    assert target.read_text() == "mine"  # which this program did not write
    target.unlink()
    assert run("convert", str(SKIRT), str(target)).exit_code == 0
    assert run("convert", str(SKIRT), str(target), "--replace").exit_code == 0


def test_decimals(tmp_path: Path) -> None:
    target = tmp_path / "a.svg"
    assert run("convert", str(SKIRT), str(target), "--decimals", "2").exit_code == 0
    run("convert", str(target), str(tmp_path / "back"), "--base", "M")
    assert_same_geometry(SKIRT, tmp_path / "back", 0.005 + 1e-9)
    assert run("convert", str(SKIRT), str(target), "--decimals", "12").exit_code == 2


def test_an_unsound_drawing_is_not_converted(tmp_path: Path) -> None:
    drawing = tmp_path / "a.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9000 9000">'
        '<g id="front"><path d="M0 0L90 200L0 200L90 0Z"/></g></svg>'
    )
    done = run("convert", str(drawing), str(tmp_path / "out"))
    assert done.exit_code == 2
    assert not (tmp_path / "out").exists()


def test_how_a_dxf_is_read_can_be_said(tmp_path: Path) -> None:
    target = tmp_path / "out.dxf"
    assert run("convert", str(SKIRT), str(target)).exit_code == 0
    words = ("convert", str(target), str(tmp_path / "back"), "--base", "M")
    done = run(*words, "--dxf", "mirror=unfold")
    assert done.exit_code == 0, done.output
    half, whole = demo("scoop_skirt"), load(tmp_path / "back")

    def width(pattern: object) -> float:
        return float(np.ptp(pattern.sized("skirt_front", "M").outline[:, 0]))

    assert width(whole) > 1.9 * width(half)
    for wrong in ("mirror=maybe", "colour=red", "allowance=wide"):
        done = run("convert", str(target), str(tmp_path / "other"), "--dxf", wrong)
        assert done.exit_code == 2
        assert wrong.partition("=")[2] in done.output
