"""The page driven in Chromium: what a hand, a keyboard and a checker find.

Every test also asserts, by its fixture, that the page said nothing on the console and asked
nobody for anything.  Skipped where no Chromium or driver is installed.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from propagate.engine.run import Result
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Seam, parse_run
from propagate.report.page import report_page
from tests.bench.tiling import tile
from tests.builders import tiny_set
from tests.examples import goes_on
from tests.page.conftest import Open
from tests.page.hostile import SCRIPT
from tests.shared import demo


def shown(page: Any, selector: str) -> int:
    """How many of the elements can be seen in the drawing that is shown."""
    found = page.locator(f".piece.is-shown {selector}")
    return sum(found.nth(i).is_visible() for i in range(found.count()))


def node(page: Any, title: str) -> Any:
    return page.locator(f'#graph .node[aria-label^="{title},"]')


def pick(page: Any, select: str, text: str) -> None:
    page.select_option(select, label=text)


def set_slider(page: Any, value: float) -> None:
    page.locator("#roll-slider").evaluate(
        "(s, v) => { s.value = v; s.dispatchEvent(new Event('input', { bubbles: true })); }", value
    )


def told(page: Any, element: str) -> dict[str, str]:
    found: dict[str, str] = page.locator(element).evaluate("e => ({ ...e.dataset })")
    return found


# -------------------------------------------------------------------------------- layers


LAYERS = {
    "old": ".seam.old, .piece.is-shown .cut.old",
    "new": ".seam:not(.old), .piece.is-shown .paper",
    "areas": ".trimmed",
    "seam": ".seam",
    "cut": ".cut",
    "notches": ".notch",
    "dims": ".dim",
    "inside": ".grain",
}


def test_each_layer_goes_and_comes(open_page: Open) -> None:
    """On one page, one layer after the other: each leaves the page as it was."""
    page = open_page().page
    drawn = shown(page, ".l-new path, .piece.is-shown .l-old path")
    for layer, gone in LAYERS.items():
        before = shown(page, gone)
        assert before > 0, layer
        box = page.locator(f'[data-layer="{layer}"]')
        box.uncheck()
        assert shown(page, gone) == 0, layer
        rest = shown(page, ".l-new path, .piece.is-shown .l-old path")
        assert rest > 0, layer
        box.focus()
        page.keyboard.press("Space")
        assert box.is_checked(), layer
        assert shown(page, gone) == before, layer
        assert shown(page, ".l-new path, .piece.is-shown .l-old path") == drawn, layer


# ----------------------------------------------------------------------------- choosing


def test_a_piece_is_chosen_by_mouse(open_page: Open) -> None:
    page = open_page().page
    node(page, "Under bag").click()
    assert node(page, "Under bag").get_attribute("aria-pressed") == "true"
    assert page.locator(".piece.is-shown h3").text_content() == "Under bag"
    assert "reshaped" in page.locator("#chosen").inner_text()
    assert page.locator("#graph [aria-pressed=true]").count() == 1


def test_a_seam_is_chosen_by_mouse(open_page: Open) -> None:
    page = open_page().page
    node(page, "pocket_bag").click()
    assert page.locator("#seam-choice option:checked").text_content() == "pocket_bag (changed)"
    chosen = page.locator(".seam.is-chosen")
    assert sorted(chosen.evaluate_all("p => p.map(x => x.dataset.snap)")) == ["bag", "bag"]
    assert page.locator(".piece.is-shown .seam.is-chosen").count() == 1


def test_pieces_and_seams_are_chosen_by_keyboard(open_page: Open) -> None:
    page = open_page().page
    page.locator('#graph .node[tabindex="0"]').focus()
    seen = set()
    for key in ("ArrowRight", "ArrowDown", "ArrowDown", "ArrowRight", "ArrowDown", "ArrowLeft"):
        page.keyboard.press(key)
        label = page.evaluate("document.activeElement.getAttribute('aria-label')")
        seen.add(label)
        page.keyboard.press("Enter")
        pressed = page.locator("#graph [aria-pressed=true]")
        assert pressed.count() == 1
        assert pressed.get_attribute("aria-label") == label
        assert label.split(",")[0].lower() in page.locator("#chosen").inner_text().lower()
    assert len(seen) >= 4
    assert page.locator('#graph .node[tabindex="0"]').count() == 1


def test_every_box_of_the_graph_is_reached_by_arrow_keys(open_page: Open) -> None:
    page = open_page().page
    reached: set[str] = set()
    todo = [page.locator('#graph .node[tabindex="0"]').get_attribute("data-choose")]
    while todo:
        at = todo.pop()
        if at in reached:
            continue
        reached.add(at)
        for key in ("ArrowRight", "ArrowLeft", "ArrowUp", "ArrowDown"):
            page.locator(f'#graph [data-choose="{at}"]').focus()
            page.keyboard.press(key)
            todo.append(page.evaluate("document.activeElement.dataset.choose"))
    assert len(reached) == page.locator("#graph .node").count()


def test_an_edge_is_chosen_in_the_table_and_in_the_drawing(open_page: Open) -> None:
    page = open_page().page
    pick(page, "#piece-choice", "Front (changed)")
    page.locator(".piece.is-shown .edges button", has_text="mouth").click()
    assert page.locator(".seam.is-chosen").get_attribute("data-snap") == "mouth"
    assert page.locator(".piece.is-shown .edge-why.is-chosen").is_visible()
    assert "swung" in page.locator(".piece.is-shown .edge-why.is-chosen").inner_text()
    drawing = page.locator(".piece.is-shown .drawing")
    drawing.scroll_into_view_if_needed()
    spot = page.locator('.piece.is-shown .seam[data-snap="hem"]').evaluate(
        "p => { const a = p.getPointAtLength(p.getTotalLength() / 3);"
        " const q = new DOMPoint(a.x, a.y).matrixTransform(p.getScreenCTM()); return [q.x, q.y]; }"
    )
    page.mouse.click(spot[0], spot[1] - 4)
    assert page.locator(".seam.is-chosen").get_attribute("data-snap") == "hem"


def test_a_warning_leads_to_its_piece(open_page: Open) -> None:
    page = open_page().page
    page.locator("#look button", has_text="Top bag").click()
    assert page.locator(".piece.is-shown h3").text_content() == "Top bag"
    assert page.evaluate("document.activeElement.id") == "pieces-head"


# ----------------------------------------------------------------------- walking a seam


def test_the_walk_reports_the_lengths_of_the_record(open_page: Open, trouser: Result) -> None:
    page = open_page().page
    rows = [r for r in trouser.record.seams if r.kind == "seam"] + list(trouser.record.bands)
    options = page.locator("#seam-choice option").all_text_contents()
    for row in rows:
        label = next(o for o in options if o.removesuffix(" (changed)") == row.name)
        pick(page, "#seam-choice", label)
        page.locator("#roll-slider").focus()
        page.keyboard.press("End")
        first, second = told(page, "#roll-first"), told(page, "#roll-second")
        assert float(first["length"]) == pytest.approx(row.first, abs=1e-6)
        assert float(second["length"]) == pytest.approx(row.second, abs=1e-6)
        assert float(first["mm"]) == pytest.approx(row.first, abs=1e-6)
        assert float(second["mm"]) == pytest.approx(row.second, abs=1e-3)
        assert float(told(page, "#roll-end")["mm"]) == pytest.approx(row.difference, abs=2e-6)
        said = page.locator("#roll-first").inner_text()
        assert said.startswith(f"{row.first:.2f} mm of {row.first:.2f} mm")


def test_the_walk_stops_at_notches_where_the_record_has_them(
    open_page: Open, trouser: Result
) -> None:
    page = open_page().page
    pick(page, "#seam-choice", "side_seam (changed)")
    rows = [r for r in trouser.record.seams if (r.kind, r.name) == ("notches", "side_seam")]
    for row in sorted(rows, key=lambda r: r.first):
        page.locator("#roll-next").click()
        assert float(told(page, "#roll-first")["mm"]) == pytest.approx(row.first, abs=1e-6)
        assert row.what in page.locator("#roll-here").inner_text()
        assert "they meet" in page.locator("#roll-here").inner_text()
    page.locator("#roll-next").click()
    assert page.locator("#roll-here").inner_text() == "the end"
    page.locator("#roll-back").click()
    assert float(told(page, "#roll-first")["mm"]) == pytest.approx(rows[-1].first, abs=1e-6)


WALKED = """
() => ["still", "rolling"].map((side) => {
  const run = document.querySelector(`#roll-scene .${side} .walked`);
  const at = run.getPointAtLength(run.getTotalLength());
  const own = run.getCTM(), scene = document.getElementById("roll-scene").getCTM();
  const point = new DOMPoint(at.x, at.y).matrixTransform(scene.inverse().multiply(own));
  return { length: run.getTotalLength(), x: point.x, y: point.y };
})
"""


def test_the_runs_touch_where_they_are_walked(open_page: Open) -> None:
    """The browser measures the drawn paths: as long as told, and touching at one point."""
    page = open_page().page
    for name in ("side_seam (changed)", "pocket_bag (changed)", "fly_left (changed)"):
        pick(page, "#seam-choice", name)
        length = float(told(page, "#roll-first")["length"])
        for part in (0.2, 0.5, 0.83):
            set_slider(page, round(length * part))
            walked = float(told(page, "#roll-first")["mm"])
            still, rolling = page.evaluate(WALKED)
            assert still["length"] == pytest.approx(walked, abs=0.05)
            assert rolling["length"] == pytest.approx(walked, abs=0.05)
            assert math.dist(
                (still["x"], still["y"]), (rolling["x"], rolling["y"])
            ) == pytest.approx(0.0, abs=0.02)


def test_rolling_runs_to_the_end_and_less_motion_is_respected(open_page: Open) -> None:
    page = open_page(reduced_motion="reduce").page
    pick(page, "#seam-choice", "fly_left (changed)")
    page.locator("#roll-play").click()
    assert page.locator("#roll-here").inner_text() == "the end"
    page = open_page().page
    pick(page, "#seam-choice", "fly_left (changed)")
    page.locator("#roll-play").click()
    for _ in range(100):
        if float(told(page, "#roll-first")["mm"]) > 5.0:
            break
        page.wait_for_timeout(50)
    assert 5.0 < float(told(page, "#roll-first")["mm"]) <= 172.0
    assert page.locator("#roll-play").get_attribute("aria-pressed") == "true"
    page.locator("#roll-play").click()
    assert page.locator("#roll-play").get_attribute("aria-pressed") == "false"


# ------------------------------------------------------------------------ looking closer


def test_zoom_and_move(open_page: Open) -> None:
    page = open_page().page
    drawing = page.locator(".piece.is-shown .drawing")

    def box() -> list[float]:
        return [float(v) for v in str(drawing.get_attribute("viewBox")).split()]

    home = box()
    page.locator('[data-zoom="in"]').click()
    assert box()[2] == pytest.approx(home[2] * 0.7, abs=0.02)
    drawing.focus()
    page.keyboard.press("ArrowRight")
    assert box()[0] > home[0]
    page.keyboard.press("0")
    assert box() == pytest.approx(home, abs=0.02)
    place = drawing.bounding_box()
    assert place
    page.keyboard.press("+")
    start = box()
    drawing.scroll_into_view_if_needed()
    place = drawing.bounding_box()
    assert place
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y + 30, steps=4)
    page.mouse.up()
    assert box()[0] < start[0]
    assert box()[1] < start[1]


def test_measuring_snaps_to_the_lines(open_page: Open, trouser: Result) -> None:
    page = open_page().page
    pick(page, "#piece-choice", "Waistband")
    page.locator("#measure").click()
    page.locator(".piece.is-shown .drawing").scroll_into_view_if_needed()
    ends = page.locator('.piece.is-shown .seam[data-snap="lower"]').evaluate(
        "p => [0, p.getTotalLength()].map((at) => { const a = p.getPointAtLength(at);"
        " const q = new DOMPoint(a.x, a.y).matrixTransform(p.getScreenCTM()); return [q.x, q.y]; })"
    )
    for x, y in ends:
        page.mouse.click(x + 3, y - 2)
    edge = trouser.pattern.pieces["waistband"].at("42-48").edge("lower")
    straight = float(np.hypot(*(edge.points[-1] - edge.points[0])))
    assert float(told(page, "#measured")["mm"]) == pytest.approx(straight, abs=0.02)
    page.keyboard.press("Escape")


def test_measuring_by_keyboard(open_page: Open) -> None:
    page = open_page().page
    pick(page, "#piece-choice", "Welt")
    page.locator(".piece.is-shown .drawing").focus()
    page.keyboard.press("m")
    page.keyboard.press("Enter")
    for _ in range(12):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert "straight, from" in page.locator("#measured").inner_text()
    assert float(told(page, "#measured")["mm"]) > 5.0
    page.keyboard.press("Escape")
    assert page.locator("#measure").get_attribute("aria-pressed") == "false"


def test_all_pieces_stand_at_one_scale(open_page: Open) -> None:
    page = open_page().page
    page.locator("#show-all").click()
    scales = page.locator(".drawing").evaluate_all(
        "d => d.map((s) => s.viewBox.baseVal.width / s.getBoundingClientRect().width)"
    )
    assert len(scales) == 11
    assert max(scales) / min(scales) == pytest.approx(1.0, abs=0.06)


def test_texts_never_lie_on_each_other(open_page: Open) -> None:
    page = open_page().page
    for label in page.locator("#piece-choice option").all_text_contents():
        pick(page, "#piece-choice", label)
        corners = page.locator(".piece.is-shown .dim").evaluate_all(
            """t => t.filter((e) => e.getClientRects().length).map((e) => {
              const b = e.getBBox(), m = e.getScreenCTM(), s = b.height * 0.25;
              return [[b.x, b.y + s], [b.x + b.width, b.y + s], [b.x + b.width, b.y + b.height - s],
                [b.x, b.y + b.height - s]].map(([x, y]) => {
                const q = new DOMPoint(x, y).matrixTransform(m); return [q.x, q.y]; });
            })"""
        )
        from shapely import Polygon

        boxes = [Polygon(c) for c in corners]
        assert boxes, label
        for i, one in enumerate(boxes):
            assert all(not one.intersects(other) for other in boxes[:i]), label


# ------------------------------------------------------------------------------- tables


def test_the_walk_table_sorts(open_page: Open) -> None:
    page = open_page().page
    rows = "#walk-table tbody tr"

    def values(index: int) -> list[float]:
        found = page.locator(rows).evaluate_all("r => r.map((x) => x.dataset.by)")
        return [float(text.split()[index]) for text in found]

    head = page.locator("#walk-table th", has_text="first").locator("button")
    head.click()
    assert values(0) == sorted(values(0))
    head.focus()
    page.keyboard.press("Enter")
    assert values(0) == sorted(values(0), reverse=True)
    assert page.locator("#walk-table th[aria-sort]").count() == 1
    page.locator("#walk-table th", has_text="off").locator("button").click()
    assert values(3) == sorted(values(3), reverse=True)


# ---------------------------------------------------------------------------- for everyone


@pytest.mark.parametrize("name", ["result", "set", "hostile"])
def test_an_accessibility_checker_finds_nothing(open_page: Open, name: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = open_page(name).page
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    looks = [(360, "light"), (1280, "dark"), (1280, "light"), (1920, "dark")]
    suited = {"result": looks[:2], "set": looks[2:3], "hostile": looks[:1]}
    for width, scheme in looks if goes_on() else suited[name]:
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        found = axe.Axe().run(page).response
        assert len(found["passes"]) > 20
        told = [(v["id"], v["nodes"][0]["html"], v["nodes"][0]) for v in found["violations"]]
        assert told == [], (width, scheme, json.dumps(told, indent=1))


@pytest.mark.parametrize("name", ["result", "set", "hostile"])
def test_nothing_sticks_out_of_the_window(open_page: Open, name: str) -> None:
    page = open_page(name).page
    for width in (320, 360, 768, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_hostile_names_do_nothing(open_page: Open) -> None:
    page = open_page("hostile").page
    assert page.evaluate("window.hit") is None
    assert SCRIPT in page.locator("h1").inner_text()
    for value in page.locator("#piece-choice option").evaluate_all("o => o.map((x) => x.value)"):
        page.select_option("#piece-choice", value=value)
    for value in page.locator("#seam-choice option").evaluate_all("o => o.map((x) => x.value)"):
        page.select_option("#seam-choice", value=value)
        set_slider(page, 50)
    page.select_option("#seam-choice", index=0)
    assert SCRIPT in page.locator("#chosen").inner_text()
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0


@pytest.mark.parametrize("letter", ["W", "@", "m", "字", "👖", "ﷺ"])
def test_long_names_stay_in_their_boxes(open_page: Open, tmp_path: Path, letter: str) -> None:
    """300 wide letters: shortened with dots, the whole name in the title of the box."""
    tiny = tiny_set()
    long = letter * 300
    info = {name: replace(item, title=long) for name, item in tiny.info.items()}
    seam = Seam(long, parse_run("front.side"), parse_run("back.side reversed"))
    page = report_page(replace(tiny, info=info, relations=Relations(seams={long: seam})))
    (tmp_path / "long.html").write_text(page, encoding="utf-8")
    view = open_page(str(tmp_path / "long.html")).page
    boxes = view.evaluate(
        """() => [...document.querySelectorAll("#graph .node")].map((node) => {
            const text = node.querySelector("text"), box = text.getBBox();
            const room = node.querySelector("rect").getBBox();
            return [box.x + box.width - room.x - room.width, text.textContent,
                node.querySelector("title").textContent];
        })"""
    )
    assert len(boxes) == 3
    for over, text, title in boxes:
        assert over <= 0.0, text
        assert text.endswith("…")
        assert long in title
    assert view.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_names_in_the_graph_can_be_read_at_every_width(open_page: Open) -> None:
    """At least 11 px high as shown; what does not fit beside is scrolled to."""
    page = open_page(width=360).page
    for width in (360, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        sizes = page.evaluate(
            """() => [...document.querySelectorAll("#graph .node text")].map((text) => {
                const scale = text.getScreenCTM().a;
                return parseFloat(getComputedStyle(text).fontSize) * scale;
            })"""
        )
        assert min(sizes) >= 11.0, width
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_the_angle_of_the_swing_lies_on_no_line(open_page: Open) -> None:
    hits = open_page().page.evaluate(
        """() => [...document.querySelectorAll("svg.swing")].map((svg) => {
            const box = svg.querySelector("text").getBBox();
            let hits = 0;
            for (const path of svg.querySelectorAll("path")) {
                const total = path.getTotalLength();
                for (let i = 0; i <= 2000; i += 1) {
                    const p = path.getPointAtLength(total * i / 2000);
                    if (p.x > box.x && p.x < box.x + box.width
                        && p.y > box.y && p.y < box.y + box.height) hits += 1;
                }
            }
            return hits;
        })"""
    )
    assert hits == [0]


def test_a_pocket_is_called_a_pocket(open_page: Open) -> None:
    page = open_page().page
    words = page.locator("#look .goto button").all_inner_texts()
    assert "show the pocket" in words
    assert "show the seam" not in words
    page.locator("#look .goto button", has_text="show the pocket").click()
    assert page.locator('#graph .node[aria-pressed="true"]').count() == 1


def test_without_scripts_everything_can_still_be_read(open_page: Open) -> None:
    page = open_page(java_script_enabled=False).page
    for section in ("look", "garment", "pieces", "walk", "openings", "girths", "why"):
        assert page.locator(f"#{section} h2").is_visible(), section
    assert page.locator(".drawing").count() == 11
    assert page.locator(".drawing").last.is_visible()
    assert not page.locator("#roll").is_visible()


def test_on_paper_every_piece_is_there_and_no_controls(open_page: Open) -> None:
    page = open_page().page
    page.emulate_media(media="print")
    drawings = page.locator(".drawing")
    assert all(drawings.nth(i).is_visible() for i in range(drawings.count()))
    assert not page.locator("#measure").is_visible()
    assert not page.locator("#roll").is_visible()


def test_many_pieces_can_be_used(open_page: Open, tmp_path: Path) -> None:
    import propagate

    copies = 10 if goes_on() else 3
    pattern = tile(demo("slant_trouser"), copies)
    result = propagate.blend(pattern, propagate.Blend({"waist": "42", "hip": "48"}))
    file = tmp_path / "many.html"
    file.write_text(report_page(result), encoding="utf-8")
    page = open_page(str(file)).page
    changes = page.evaluate(
        """() => { const seen = new MutationObserver(() => {});
        seen.observe(document,
          { subtree: true, childList: true, attributes: true, characterData: true });
        document.querySelector('#graph .node.join').dispatchEvent(
          new MouseEvent('click', { bubbles: true }));
        return seen.takeRecords().length; }"""
    )
    assert 0 < changes < 4 * 11 * copies  # two for each piece, of some hundred elements that it has
    page.locator("#show-all").click()
    assert page.locator(".drawing").count() == 11 * copies
