"""Every command: what it prints, its JSON, its exit status."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import jsonschema
import pytest

from propagate import load, load_result, save
from propagate.demo import demo_names
from propagate.engine.record import as_plain
from propagate.io.output import LIST_NAME
from propagate.pattern.patternset import Relations
from tests.cli.conftest import SKIRT, TROUSER, plain, run
from tests.examples import goes_on
from tests.io.test_schema import schema
from tests.shared import demo

WIDTH = 80


def assert_fits(text: str, *, but: str = "\0") -> None:
    for line in text.splitlines():
        assert len(line) <= WIDTH or but in line, line


@pytest.mark.parametrize("path", [TROUSER, SKIRT])
def test_show_names_every_piece_and_relation(path: str) -> None:
    pattern = load(path)
    done = run("show", path)
    assert done.exit_code == 0
    relations = pattern.relations
    for name in [*pattern.pieces, *relations.seams, *relations.openings, *relations.assemblies]:
        assert name in done.stdout
    assert_fits(done.stdout)
    found = plain(run("show", path, "--json"))
    assert [piece["piece"] for piece in found["pieces"]] == list(pattern.pieces)
    assert found["chart"] == {row: dict(values) for row, values in pattern.chart.items()}
    assert {seam["name"] for seam in found["seams"]} == set(relations.seams)


def test_show_prints_the_chart_in_inches() -> None:
    done = run("show", SKIRT, "--unit", "in")
    assert "Chart (in)" in done.stdout
    assert "25.98" in done.stdout  # 660 mm / 25.4


def test_walk_of_one_size_and_of_all() -> None:
    done = run("walk", TROUSER, "--size", "40")
    assert done.exit_code == 0
    assert "size 40: everything sews together" in done.stdout
    assert_fits(done.stdout)
    every = run("walk", TROUSER, "--all-sizes")
    assert every.exit_code == 0
    assert "9 sizes: everything sews together" in every.stdout
    assert_fits(every.stdout)
    walks = plain(run("walk", TROUSER, "--all-sizes", "--json"))["walks"]
    assert [walk["size"] for walk in walks] == list(demo("slant_trouser").sizes)
    kinds = {check["kind"] for walk in walks for check in walk["checks"]}
    assert kinds == {"seam", "notches", "opening", "corner", "band", "girth", "welt_opening"}


def test_walk_takes_one_size_or_all() -> None:
    done = run("walk", TROUSER, "--size", "40", "--all-sizes")
    assert done.exit_code == 2
    assert "exclude each other" in done.stderr


def test_walk_says_first_what_does_not_sew(tmp_path: Path) -> None:
    """The waistband with a zone 5 mm too short: found, named, exit status 1."""
    import shutil

    folder = tmp_path / "short"
    shutil.copytree(TROUSER, folder)
    text = (folder / "set.toml").read_text(encoding="utf-8")
    needle = 'end = "side_right",   run = ["facing.waist from mouth_top to end"] }'
    assert needle in text
    text = text.replace(needle, needle.replace(" }", ", ease = 5 }"))
    (folder / "set.toml").write_text(text, encoding="utf-8")
    done = run("walk", str(folder))
    assert done.exit_code == 1
    head, _, rest = done.stdout.partition("\n\n")
    assert "1 of 30 checks DOES NOT SEW" in head
    likely, checks, *_ = rest.split("\n\n")
    assert likely.startswith("Looks like a mistake in the set")
    assert checks.startswith("Look at this first")
    assert "waistband fit right facing" in checks
    assert not plain(run("walk", str(folder), "--json"))["walks"][0]["sews"]


def test_blend_writes_a_result_that_loads_and_walks(result_folder: Path) -> None:
    names = sorted(path.name for path in result_folder.iterdir())
    assert names == [LIST_NAME, "cut_lines.json", "geometry", "record.json", "set.toml"]
    assert run("walk", str(result_folder)).exit_code == 0
    for name in ("record", "cut_lines"):
        found = json.loads((result_folder / f"{name}.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator.check_schema(schema(name))
        jsonschema.Draft202012Validator(schema(name)).validate(found)


def test_blend_without_a_folder_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("blend", TROUSER, "--size", "waist=42,hip=44")
    assert done.exit_code == 0
    assert "Nothing was written" in done.stdout
    assert list(tmp_path.iterdir()) == []
    assert_fits(done.stdout)


def test_blend_tells_what_changed_and_the_limits() -> None:
    done = run("blend", SKIRT, "--size", "natural_waist=S", "--size", "seat=L")
    assert "\nscoop skirt: natural waist of size S, seat of size L;" in done.stdout
    order = [
        done.stdout.index(text)
        for text in ("Look at this first", "What changed", "Does it sew", "it does not judge fit")
    ]
    assert order == sorted(order)
    pieces = ("Skirt front", "Skirt back", "Pocket facing", "Top bag", "Under bag", "shaped belt")
    for piece in pieces:
        assert piece in done.stdout


def test_blend_of_a_size_with_itself_changes_nothing() -> None:
    done = run("blend", TROUSER, "--size", "waist=42,hip=42")
    assert done.exit_code == 0
    assert "Nothing changed" in done.stdout


def test_blend_json_holds_the_record(tmp_path: Path) -> None:
    out = tmp_path / "out"
    body = ("--body", "waist=800,hip=108cm", "--nearest")
    done = run("blend", TROUSER, *body, "-o", str(out), "--json")
    found = plain(done)
    assert found["sews"] is True
    assert found["written_to"] == str(out)
    assert {c["level"]: c["size"] for c in found["body"]} == {"waist": "42", "hip": "44"}
    record = as_plain(load_result(out).record)
    for piece in record["pieces"]:
        del piece["before"]
    assert found["record"] == record


def test_body_measurements_leave_nothing_over(tmp_path: Path) -> None:
    """By hand from the chart: 785 is 31/40 of the way from 754 to 794, 1015 is 21/40 from 994."""
    out = tmp_path / "out"
    words = ("blend", TROUSER, "--body", "waist=785mm,hip=1015mm", "-o", str(out))
    found = plain(run(*words, "--json"))
    assert [c["size"] for c in found["body"]] == ["41.55", "41.05"]
    assert [round(c["between"]["share"], 9) for c in found["body"]] == [0.775, 0.525]
    assert [abs(round(c["off_mm"], 3)) for c in found["body"]] == [0.0, 0.0]
    girths = {row["girth"]: row for row in found["record"]["girths"]}
    assert abs(girths["waist"]["found_mm"] - 795.0) < 0.1  # 10 mm of ease in every size
    assert abs(girths["hip"]["found_mm"] - 1055.0) < 0.1  # 40 mm
    said = " ".join(run(*words[:-2]).stdout.split())
    assert "41.55 lies between 40 and 42, 0.775 of the way" in said
    assert load_result(out).record.size == "41.55/41.05"


def test_levels_name_the_upper_and_lower_size() -> None:
    """`--pocket hip` is `--pocket lower` on a set whose lower level is the hip."""
    by_level = plain(
        run("blend", TROUSER, "--size", "waist=42,hip=44", "--pocket", "hip", "--json")
    )
    by_word = plain(
        run("blend", TROUSER, "--size", "waist=42,hip=44", "--pocket", "lower", "--json")
    )
    assert by_level == by_word
    assert by_level["record"]["edit"]["pocket_size"] == "44"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--size", "waist"], "LEVEL=SIZE"),
        (["--size", "waist=42", "--size", "waist=44"], "given twice"),
        (["--size", "waist=43x", "--size", "hip=44"], "no size '43x'"),
        (["--size", "waist=55", "--size", "hip=44"], "the nearest that can be is '54'"),
        (["--size", "waist=42,hip=44", "--nearest"], "--nearest goes with --body"),
        (["--body", "waist=1080,hip=1040"], "the nearest that can be is 1062 mm"),
        (["--size", "wast=42", "--size", "hip=44"], "did you mean 'waist'"),
        (["--size", "waist=42"], "no size for level 'hip'"),
        (["--size", "waist=42,hip=44", "--pocket", "knees"], "expected one of 'waist', 'hip'"),
        (["--size", "waist=42,hip=44", "--rise", "tall"], "or a length such as"),
        (["--size", "waist=42,hip=44", "--rise=-3"], "expected a length above 0"),
        (["--size", "waist=42,hip=44", "--hold", "hipp"], "did you mean 'hip'"),
        (["--size", "waist=42", "--body", "waist=770"], "by --size and by --body"),
        (["--body", "waist=77,hip=1040"], "was it 77 cm?"),
        (["--body", "waist=wide,hip=1040"], "expected a length above 0"),
        (["--body", "wist=770,hip=1040"], "did you mean 'waist'"),
        (["--body", "rise=280,hip=1040"], "gives no size"),
    ],
)
def test_blend_refuses(words: list[str], said: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run("blend", TROUSER, *words, "-o", str(out))
    assert done.exit_code == 2, done.output
    assert said in " ".join(done.stderr.split())
    assert done.stdout == ""
    assert not out.exists()


def test_why_leads_back_to_the_edit(result_folder: Path) -> None:
    done = run("why", str(result_folder), "under_bag")
    assert done.exit_code == 0
    assert "because of the edit: waist of size 42, hip of size 44" in " ".join(done.stdout.split())
    assert_fits(done.stdout)
    found = plain(run("why", str(result_folder), "under_bag.waist", "--json"))
    (edge,) = found["edges"]
    assert edge["edge"] == "waist"
    chain = edge["chain"]
    assert chain[-1]["id"] == "edit"
    assert chain[-1]["cause"] is None
    for link, cause in pairwise(chain):
        assert link["cause"] == cause["id"]


def test_why_of_what_did_not_change(result_folder: Path) -> None:
    assert "did not change" in run("why", str(result_folder), "belt_loop").stdout
    assert "digit for digit" in run("why", str(result_folder), "back.hem").stdout
    welt = run("why", str(result_folder), "welt").stdout
    assert "size 42 as drawn" in welt
    assert "level ‘waist’" in welt


@pytest.mark.parametrize(
    ("target", "said"),
    [
        ("under_bagg", "no piece 'under_bagg' in set 'slant trouser'; did you mean 'under_bag'"),
        ("under_bag.wais", "no edge 'wais' in piece 'under_bag' of set 'slant trouser'; did you"),
    ],
)
def test_why_names_the_nearest(result_folder: Path, target: str, said: str) -> None:
    done = run("why", str(result_folder), target)
    assert done.exit_code == 2
    assert said in done.stderr


def test_why_needs_a_result() -> None:
    done = run("why", TROUSER, "front")
    assert done.exit_code == 2
    assert "holds no record.json" in done.stderr


def test_draw_a_result_a_size_and_a_nest(result_folder: Path, tmp_path: Path) -> None:
    done = run("draw", str(result_folder), "-o", str(tmp_path / "a"))
    assert done.exit_code == 0, done.output
    files = sorted(path.stem for path in (tmp_path / "a").glob("*.svg"))
    assert files == sorted(["changes", *demo("slant_trouser").pieces])
    assert "changes.svg shows all pieces that changed, small" in done.stdout
    assert "Paper" not in (tmp_path / "a" / "belt_loop.svg").read_text(encoding="utf-8")
    one = plain(
        run("draw", SKIRT, "--size", "M", "--piece", "belt", "-o", str(tmp_path / "b"), "--json")
    )
    (picture,) = one["pictures"]
    assert picture["file"] == "belt.svg"
    assert picture["height_mm"] > 600  # the belt of size M is longer than that
    nest = run("draw", SKIRT, "--piece", "belt", "-o", str(tmp_path / "c"))
    assert nest.exit_code == 0
    assert 'data-size="3XL"' in (tmp_path / "c" / "belt.svg").read_text(encoding="utf-8")


def test_a_changed_set_is_drawn_before_and_now(tmp_path: Path) -> None:
    out = tmp_path / "longer"
    words = ["change", SKIRT, "lengthen", "level=seat", "by=20mm", "-o", str(out)]
    done = run(*words)
    assert done.exit_code == 0, done.output
    pieces = ["--piece", "skirt_back"]
    for size, said in (("M", []), ("L", ["--size", "L"])):
        folder = tmp_path / size
        assert run("draw", str(out), "-o", str(folder), *pieces, *said).exit_code == 0
        drawn = (folder / "skirt_back.svg").read_text(encoding="utf-8")
        assert 'class="before"' in drawn
        assert f"size {size}" in drawn
    nest = run("draw", str(out), "-o", str(tmp_path / "all"), "--all-sizes", *pieces)
    assert nest.exit_code == 0, nest.output
    drawn = (tmp_path / "all" / "skirt_back.svg").read_text(encoding="utf-8")
    assert 'data-size="3XL"' in drawn
    assert 'class="before"' not in drawn
    assert run("draw", str(out), "-o", str(tmp_path / "lead")).exit_code == 0
    lead = (tmp_path / "lead" / "changes.svg").read_text(encoding="utf-8")
    assert f"of {len(demo('scoop_skirt').sizes)} sizes that changed" in lead


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--size", "M", "--all-sizes"], "expected one of them"),
        (["--piece", "bellt"], "did you mean 'belt'"),
        (["--size", "XM"], "no size 'XM'"),
    ],
)
def test_draw_refuses_unknown_names(words: list[str], said: str, tmp_path: Path) -> None:
    done = run("draw", SKIRT, "-o", str(tmp_path / "d"), *words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert not (tmp_path / "d").exists()


def test_draw_replaces_only_when_asked_and_leaves_other_files(tmp_path: Path) -> None:
    out = tmp_path / "d"
    words = ["draw", SKIRT, "--piece", "belt", "-o", str(out)]
    assert run(*words).exit_code == 0
    (out / "notes.txt").write_text("mine", encoding="utf-8")
    again = run(*words)
    assert again.exit_code == 2
    assert "belt.svg' exists already" in again.stderr
    drawn = (out / "belt.svg").read_text(encoding="utf-8")
    (out / "belt.svg").write_text("mine", encoding="utf-8")
    over = run(*words, "--replace")
    assert over.exit_code == 2
    assert "belt.svg' was changed since this program wrote it" in over.stderr
    assert (out / "belt.svg").read_text(encoding="utf-8") == "mine"
    (out / "belt.svg").write_text(drawn, encoding="utf-8")
    assert run(*words, "--replace").exit_code == 0
    assert (out / "belt.svg").read_text(encoding="utf-8").startswith("<svg")
    assert sorted(path.name for path in out.iterdir()) == [LIST_NAME, "belt.svg", "notes.txt"]


@pytest.mark.parametrize("name", demo_names())
def test_demo(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("demo", name)
    assert done.exit_code == 0, done.output
    assert_fits(done.stdout)
    base = tmp_path / "propagate_demo"
    copied = (base / name / "set.toml").read_bytes()
    assert copied == (Path(TROUSER).parent / name / "set.toml").read_bytes()
    (pictures,) = base.glob("*_pictures")
    drawn = {path.stem for path in pictures.glob("*.svg")}
    assert drawn == {"changes", *demo(name).pieces}
    if name == demo_names()[0] or goes_on():
        again = run("demo", name)
        assert again.exit_code == 2
        assert "--replace" in again.stderr
        assert run("demo", name, "--replace").exit_code == 0


def test_demo_json_and_unknown_name(tmp_path: Path) -> None:
    found = plain(run("demo", "scoop_skirt", str(tmp_path / "here"), "--json"))
    assert Path(found["result"]).is_dir()
    done = run("demo", "slant_trousers", str(tmp_path / "there"))
    assert done.exit_code == 2
    assert "did you mean 'slant_trouser'" in done.stderr
    assert not (tmp_path / "there").exists()


def test_a_set_of_which_nothing_is_joined_is_not_said_to_sew(tmp_path: Path) -> None:
    """As it is after `begin`: nothing was walked, and no seam is told as forgotten."""
    pattern = demo("scoop_skirt")
    bare = replace(pattern, relations=Relations(), origin=None)
    save(bare, tmp_path / "bare")
    said = " ".join(run("walk", str(tmp_path / "bare")).stdout.split())
    assert "everything sews" not in said and "left out" not in said
    assert "nothing was walked: the set says of no edge what it is sewn to" in said
    shown = " ".join(run("show", str(tmp_path / "bare")).stdout.split())
    assert "--size LEVEL=SIZE for two or more of the levels natural_waist, seat" in shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("take-in", "edge=side", "by=5mm"), "edge 'side' without its piece, expected PIECE.EDGE"),
        (("take-in", "edge=full_front.side", "by=5xx"), "found '5xx' (text), expected mm or text"),
        (
            ("take-in", "edge=full_front.hem", "by=5mm", "at=hip"),
            "level 'hip' does not meet edge 'hem'",
        ),
        (("take-in", "edge=waistband.upper", "by=5mm", "both=true"), "nothing is sewn to edge"),
    ],
)
def test_a_wrong_word_of_an_edit_is_told_with_what_to_do(words: tuple[str, ...], said: str) -> None:
    done = run("change", str(TROUSER), *words)
    assert done.exit_code == 2
    assert said in " ".join(done.output.split()) and "an ease" not in done.output
