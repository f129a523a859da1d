"""The page driven in Chromium: what a hand, a keyboard and a checker find.

Every test also asserts, by its fixture, that the page said nothing on the console and asked
nobody for anything.  Skipped where no Chromium or driver is installed.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from propagate.engine.run import Result
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Seam, parse_run
from propagate.pattern.titles import in_words, make_readable
from propagate.report.page import report_page
from propagate.report.scene.items import Role
from propagate.report.scene.looks import LOOKS
from tests.bench.tiling import tile
from tests.builders import tiny_set
from tests.examples import goes_on
from tests.page.conftest import Open
from tests.page.hostile import SCRIPT
from tests.shared import demo


def shown(page: Any, selector: str) -> int:
    """How many of the elements can be seen in the drawing that is shown."""
    found = page.locator(f".piece.is-shown {selector}")
    count: int = found.evaluate_all("f => f.filter((e) => e.getClientRects().length).length")
    return count


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


# ------------------------------------------------------------------------ kinds of line


def test_each_role_of_the_legend_goes_and_comes(open_page: Open) -> None:
    """On one page, one kind of line after the other: each leaves the page as it was."""
    page = open_page().page
    pick(page, "#piece-choice", "Back (changed)")
    roles = page.locator("[data-role]").evaluate_all("b => b.map((x) => x.dataset.role)")
    every = ".drawing path, .piece.is-shown circle, .piece.is-shown text"
    drawn = shown(page, every)
    here = [role for role in roles if shown(page, f".{role}")]
    assert {"seam", "before", "cut", "cut-before", "trim", "grain", "notch", "label"} <= {*here}
    for role in here:
        before = shown(page, f".{role}")
        box = page.locator(f'[data-role="{role}"]')
        box.uncheck()
        assert shown(page, f".{role}") == 0, role
        assert shown(page, every) == drawn - before, role
        box.focus()
        page.keyboard.press("Space")
        assert box.is_checked(), role
        assert shown(page, every) == drawn, role


# ----------------------------------------------------------------------------- choosing


def test_a_piece_is_chosen_by_mouse(open_page: Open) -> None:
    page = open_page().page
    node(page, "Under bag").click()
    assert node(page, "Under bag").get_attribute("aria-pressed") == "true"
    assert page.locator(".piece.is-shown h3").text_content() == "Under bag"
    assert "and changed" in page.locator("#chosen").inner_text()
    assert page.locator("#graph [aria-pressed=true]").count() == 1


def test_a_seam_is_chosen_by_mouse(open_page: Open) -> None:
    page = open_page().page
    node(page, "pocket bag").click()
    assert page.locator("#seam-choice option:checked").text_content() == "pocket bag (changed)"
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
    page.locator("#detail .edges button", has_text="opening").click()
    assert page.locator(".seam.is-chosen").get_attribute("data-snap") == "opening"
    assert page.locator("#detail .edge-why.is-chosen").is_visible()
    assert "turned" in page.locator("#detail .edge-why.is-chosen").inner_text()
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
        label = next(o for o in options if o.removesuffix(" (changed)") == make_readable(row.name))
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
    pick(page, "#seam-choice", "side seam (changed)")
    rows = [r for r in trouser.record.seams if (r.kind, r.name) == ("notches", "side_seam")]
    for row in sorted(rows, key=lambda r: r.first):
        page.locator("#roll-next").click()
        assert float(told(page, "#roll-first")["mm"]) == pytest.approx(row.first, abs=1e-6)
        said = in_words(trouser.pattern, row.what)
        assert said in page.locator("#roll-here").inner_text()
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
    for name in ("side seam (changed)", "pocket bag (changed)", "fly left (changed)"):
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
    pick(page, "#seam-choice", "fly left (changed)")
    page.locator("#roll-play").click()
    assert page.locator("#roll-here").inner_text() == "the end"
    page = open_page().page
    pick(page, "#seam-choice", "fly left (changed)")
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
    ends = page.locator('.piece.is-shown .seam[data-snap="lower edge"]').evaluate(
        "p => [0, p.getTotalLength()].map((at) => { const a = p.getPointAtLength(at);"
        " const q = new DOMPoint(a.x, a.y).matrixTransform(p.getScreenCTM()); return [q.x, q.y]; })"
    )
    for x, y in ends:
        page.mouse.click(x + 3, y - 2)
    edge = trouser.pattern.pieces["waistband"].at("42/48").edge("lower")
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


LABELS = """(id) => {
  const figure = document.getElementById(id);
  const hits = [], boxes = [];
  for (const text of figure.querySelectorAll(".label")) {
    if (!text.getClientRects().length) continue;
    const b = text.getBBox(), m = text.getCTM(), s = b.height * 0.2;
    boxes.push([[b.x, b.y + s], [b.x + b.width, b.y + s], [b.x + b.width, b.y + b.height - s],
      [b.x, b.y + b.height - s]].map(([x, y]) => {
        const q = new DOMPoint(x, y).matrixTransform(m); return [q.x, q.y]; }));
    const lines = ".seam, .before, .cut, .cut-before, .dart, .inner";
    for (const path of figure.querySelectorAll(lines)) {
      const total = path.getTotalLength(), back = m.inverse().multiply(path.getCTM());
      const steps = Math.max(200, Math.ceil(total / 2));
      for (let i = 0; i <= steps; i += 1) {
        const p = path.getPointAtLength((total * i) / steps).matrixTransform(back);
        if (p.x > b.x && p.x < b.x + b.width && p.y > b.y + s && p.y < b.y + b.height - s) {
          hits.push([text.textContent, path.getAttribute("class")]);
          break;
        }
      }
    }
  }
  return { hits, boxes };
}"""


@pytest.mark.parametrize("scripts", [True, False], ids=["placed anew", "as written"])
def test_no_length_lies_on_a_line_or_on_another(open_page: Open, scripts: bool) -> None:
    """The browser measures letters and lines, at the scale at which a piece is first seen."""
    page = open_page(java_script_enabled=scripts).page
    pieces = page.locator("figure.piece").evaluate_all("p => p.map((x) => x.id)")
    assert len(pieces) == 11
    seen = 0
    for piece in pieces:
        if scripts:
            page.select_option("#piece-choice", value=piece)
        found = page.evaluate(LABELS, piece)
        assert found["hits"] == [], piece
        boxes = [Polygon(corners) for corners in found["boxes"]]
        for i, one in enumerate(boxes):
            assert all(not one.intersects(other) for other in boxes[:i]), piece
        seen += len(boxes)
    assert seen >= (30 if scripts else 12)


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
    """300 wide letters: shortened with dots, more of the name in the title of the box."""
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
        assert long[:59] in title
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


def test_an_opening_is_shown_step_by_step(open_page: Open) -> None:
    page = open_page().page
    steps = page.locator(".steps > li")
    assert steps.count() == 5
    assert all(steps.nth(i).is_visible() for i in range(5))
    assert "11.0° clockwise" in steps.nth(1).inner_text()

    def seen() -> list[int]:
        return [i for i in range(5) if steps.nth(i).is_visible()]

    forth = page.locator('[data-step="1"]')
    for wanted in (0, 1, 2, 3, 4, 0):
        forth.focus()
        page.keyboard.press("Enter")
        assert seen() == [wanted]
    page.locator('[data-step="-1"]').click()
    assert seen() == [4]
    page.locator('[data-step="0"]').click()
    assert len(seen()) == 5


def test_a_pocket_is_called_a_pocket(open_page: Open) -> None:
    page = open_page().page
    words = page.locator("#look .goto button").all_inner_texts()
    assert "show the pocket" in words
    assert "show the seam" not in words
    page.locator("#look .goto button", has_text="show the pocket").click()
    assert page.locator('#graph .node[aria-pressed="true"]').count() == 1


def test_without_scripts_everything_but_the_walk_can_be_read(open_page: Open) -> None:
    page = open_page(java_script_enabled=False).page
    for section in ("look", "garment", "pieces", "walk", "openings", "girths", "why"):
        assert page.locator(f"#{section} h2").is_visible(), section
    for every, count in ((".drawing", 11), (".card", 5), (".steps > li", 5)):
        found = page.locator(every)
        assert [found.nth(i).is_visible() for i in range(found.count())] == [True] * count
    legend = page.locator("#pieces .legend")
    assert {"seam line", "seam line before", "paper to trim"} <= set(
        legend.inner_text().strip().split("\n")
    )
    assert legend.locator("svg").first.is_visible()
    for gone in ("#roll", "input", "select", ".controls", "#chosen", ".goto"):
        found = page.locator(gone)
        assert not any(found.nth(i).is_visible() for i in range(found.count())), gone


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "none"])
def test_the_change_stands_on_the_first_screen(open_page: Open, width: int, scripts: bool) -> None:
    """Title, sentence, the drawing of a changed piece and its figures end above 700 px."""
    page = open_page(width=width, height=800, java_script_enabled=scripts).page
    assert "mm shorter" in page.locator(".said-first").inner_text()
    card = page.locator(".card").first
    for part in (".said-first", ".card svg", ".card li"):
        found = page.locator(part).first
        box = found.bounding_box()
        assert box, part
        assert box["y"] + box["height"] < 700, part
        assert 0 <= box["x"] < box["x"] + box["width"] <= width, part
    box = card.bounding_box()
    assert box
    assert box["y"] + box["height"] < 700
    assert card.locator(".area.trim").first.is_visible()
    if width > 1000:
        every = page.locator(".card").evaluate_all(
            "c => c.map((x) => x.getBoundingClientRect().bottom)"
        )
        assert len(every) == 5
        assert max(every) < 700
    assert page.locator("#look").evaluate("e => e.getBoundingClientRect().top") > box["y"]


def test_nothing_wide_stays_empty_beside_a_piece(open_page: Open) -> None:
    """Graph and table on one side, drawing on the other: both end at about the same height."""
    page = open_page(height=800).page
    for width in (1280, 1920):
        page.set_viewport_size({"width": width, "height": 800})
        sides = page.evaluate(
            """() => ["#garment > .as-list", ".piece.is-shown .drawing"].map((last) => {
                const node = document.querySelector(last), end = node.getBoundingClientRect();
                const side = node.closest("section").getBoundingClientRect();
                return [side.left, side.top, end.bottom - side.top];
            })"""
        )
        assert sides[0][0] < sides[1][0]
        assert sides[0][1] == sides[1][1]
        tall = [side[2] for side in sides]
        assert min(tall) > 0.8 * max(tall), width


def test_tables_show_their_last_columns_on_a_narrow_screen(open_page: Open) -> None:
    page = open_page(width=360, height=800).page
    frames = page.locator(".table-frame").evaluate_all(
        "f => f.filter((x) => x.getClientRects().length).map((x) => [x.scrollWidth, x.clientWidth])"
    )
    assert len(frames) >= 4
    assert all(inner <= outer for inner, outer in frames)
    last = page.locator("table tbody tr").evaluate_all(
        """rows => rows.filter((r) => r.getClientRects().length).map((r) => {
            const filled = [...r.cells].filter((c) => c.textContent.trim());
            const box = filled[filled.length - 1].getBoundingClientRect();
            return [box.width, box.left, box.right];
        })"""
    )
    assert all(wide > 0 and left >= 0 and right <= 360 for wide, left, right in last)


def test_every_drawing_says_what_changed(open_page: Open, trouser: Result) -> None:
    """The words for those who do not see it are the largest figures of the record."""
    page = open_page().page
    said = page.locator(".drawing").evaluate_all(
        "d => d.map((s) => document.getElementById(s.getAttribute('aria-describedby')).textContent)"
    )
    assert len(said) == 11
    front = next(piece for piece in trouser.record.pieces if piece.piece == "front")
    waist = next(edge for edge in front.edges if edge.edge == "waist")
    figure = f"waist {waist.before_mm - waist.after_mm:.0f} mm shorter"
    assert figure in said[list(trouser.pattern.pieces).index("front")]
    assert all("grain" in text or "mm" in text for text in said)
    assert any(figure in text for text in page.locator(".card").all_inner_texts())


def test_lines_are_as_wide_and_dashed_as_on_a_picture(open_page: Open) -> None:
    """In the drawing and in the legend: their proportions are those of the looks."""
    page = open_page().page
    style = """(selector) => { const s = getComputedStyle(document.querySelector(selector));
      return [parseFloat(s.strokeWidth), s.strokeDasharray]; }"""
    seam_px, _ = page.evaluate(style, ".piece.is-shown .seam")
    for role in (Role.SEAM, Role.BEFORE, Role.CUT, Role.CUT_BEFORE, Role.LEVEL, Role.GRAIN):
        stroke = LOOKS[role].stroke
        for place in (".piece.is-shown", "#pieces .legend"):
            wide, dash = page.evaluate(style, f"{place} path.{role.value}")
            ratio = seam_px / LOOKS[Role.SEAM].stroke.width
            assert wide == pytest.approx(stroke.width * ratio, abs=0.02), (role, place)
            dashes = [float(d) for d in re.findall(r"[\d.]+", dash)]
            assert dashes == pytest.approx([d * ratio for d in stroke.dash], abs=0.02), role


def test_pieces_are_found_by_name_and_by_status(open_page: Open) -> None:
    page = open_page().page
    page.locator("#find-name").fill("bag")
    assert page.locator("#found").inner_text() == "3 of 11 pieces"
    boxes = page.locator("#graph .node.piece:visible")
    assert sorted(
        boxes.evaluate_all("n => n.map((x) => x.querySelector('title').textContent.split(':')[0])")
    ) == [
        "Top bag",
        "Under bag",
        "Welt bag",
    ]
    page.select_option("#find-state", label="changed")
    assert page.locator("#found").inner_text() == "2 of 11 pieces"
    assert page.locator(".piece.is-shown h3").text_content() == "Under bag"
    page.locator("#show-all").click()
    assert page.locator("figure.piece:visible").count() == 2
    page.locator("#find-name").fill("")
    page.select_option("#find-state", label="any")
    assert page.locator("#found").inner_text() == "11 pieces"
    assert page.locator("figure.piece:visible").count() == 11


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
    tall = page.locator("#graph-frame").evaluate("f => f.getBoundingClientRect().height")
    assert tall <= 900
