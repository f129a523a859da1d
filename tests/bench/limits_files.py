"""Files at and beyond the limits of the readers, for ``python -m tests.bench.limits``.

Each maker writes one file into a folder and returns its path.  The files are as large as
the limits in docs/dxf.md and docs/svg.md allow, or as mean as XML, blocks in blocks and
numbers can be.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.io.dxf.hand import (
    METRIC,
    SQUARE,
    block,
    insert,
    line,
    pairs,
    piece,
    point,
    points,
    polyline,
    save,
    style,
    text,
    words,
)

__all__ = ["MAKERS"]

Maker = Callable[[Path], Path]
MAKERS: dict[str, Maker] = {}


def _maker(make: Maker) -> Maker:
    MAKERS[make.__name__.strip("_").replace("_", " ")] = make
    return make


def ring(count: int, radius: float = 400.0, wave: float = 10.0) -> list[tuple[float, float]]:
    """A wavy ring of many points."""
    step = math.tau / count
    return [
        (
            round((radius + wave * math.sin(9 * step * k)) * math.cos(step * k), 3),
            round((radius + wave * math.sin(9 * step * k)) * math.sin(step * k), 3),
        )
        for k in range(count)
    ]


def _pieces(folder: Path, name: str, blocks: Iterator[str] | list[str], rules: str = "") -> Path:
    found = list(blocks)
    inserts = [insert(one.split("\n", 4)[3]) for one in found]
    if rules:
        save(folder / f"{name}.rul", rules)
    return save(folder / f"{name}.dxf", style(found, METRIC, *inserts))


def table(sizes: int, rules: int, pair: str = "1.5,0") -> str:
    """A rule table whose rules are all alike."""
    names = [str(index) for index in range(sizes)]
    own = " ".join([pair] * sizes)
    body = "".join(f"RULE: DELTA {number}\n{own}\n" for number in range(1, rules + 1))
    return (
        f"UNITS: METRIC\nNUMBER OF SIZES: {sizes}\nSIZE LIST: {' '.join(names)}\n"
        f"SAMPLE SIZE: 0\n{body}END\n"
    )


def outline(layer: str, count: int, radius: float = 400.0) -> str:
    """A closed ring with a turn point at every quarter."""
    at = ring(count, radius)
    return polyline(layer, at) + points("2", at[:: max(1, count // 4)])


# ------------------------------------------------------------------------------------ DXF


@_maker
def dxf_outlines_of_50_000_points(folder: Path) -> Path:
    """Sixteen outlines as long as one may be: close to the number of entities and lines."""
    made = (piece(name=f"p{index}", boundary=outline("1", 49_000)) for index in range(16))
    return _pieces(folder, "outlines", made)


@_maker
def dxf_cut_and_seam_lines_with_every_point_marked(folder: Path) -> Path:
    """Curve points for every vertex: close to the number of shapes and of lines."""
    inner, outer = ring(37_000, 390.0), ring(37_000, 400.0)
    marks = polyline("1", outer) + polyline("14", inner) + points("3", (outer + inner)[:59_000])
    marks += points("2", outer[::9_000] + inner[::9_000])
    made = (piece(name=f"p{index}", boundary=marks) for index in range(6))
    return _pieces(folder, "marked", made)


@_maker
def dxf_5000_blocks_of_points(folder: Path) -> Path:
    """As many pieces and shapes as there may be."""
    marks = "".join(point("3", (10 + k % 280, 10 + k // 2)) for k in range(106))
    made = (piece(marks, name=f"p{index}") for index in range(5_000))
    return _pieces(folder, "blocks", made)


@_maker
def dxf_texts(folder: Path) -> Path:
    """Nearly 150 000 texts of ours and of others."""
    own = "".join(text("15", (k % 300, k // 10), f"@edge name{k}") for k in range(4_900))
    made = (piece(own, name=f"p{index}") for index in range(30))
    return _pieces(folder, "texts", made)


@_maker
def dxf_notches_on_long_outlines(folder: Path) -> Path:
    """As many notches as a piece may have, on outlines as long as they may be."""
    at = ring(290, 405.0)
    marks = points("4", at)
    marks += "".join(text("15", p, f"@notch n{k} edge_1") for k, p in enumerate(at))
    made = (piece(marks, name=f"p{index}", boundary=outline("1", 49_000)) for index in range(16))
    return _pieces(folder, "notches", made)


@_maker
def dxf_internal_lines(folder: Path) -> Path:
    """Thousands of internal and stitch lines on each piece."""
    at = [(10.0 + k % 280, 10.0 + k // 12) for k in range(4_800)]
    marks = "".join(line("8", (x, y), (x + 3, y)) + line("14", (x, y), (x, y + 3)) for x, y in at)
    made = (piece(marks, name=f"p{index}") for index in range(10))
    return _pieces(folder, "internal", made)


@_maker
def dxf_outlines_of_loose_lines(folder: Path) -> Path:
    """Boundaries drawn as thousands of single lines."""
    at = ring(4_900)
    sides = "".join(line("1", a, b) for a, b in zip(at, [*at[1:], at[0]], strict=True))
    made = (piece(name=f"p{index}", boundary=sides) for index in range(20))
    return _pieces(folder, "loose", made)


@_maker
def dxf_lines_from_one_place(folder: Path) -> Path:
    """Stitch lines that all begin at the same place."""
    marks = "".join(line("14", (100, 100), p) for p in ring(4_900, 60.0))
    made = (piece(marks, name=f"p{index}") for index in range(20))
    return _pieces(folder, "star", made)


@_maker
def dxf_darts(folder: Path) -> Path:
    """Outlines of notches with drill marks, most of which could be the tips of darts."""
    at = [(7.5 * k, 500.0 - k % 2) for k in range(39, -1, -1)]
    rim = [(0, 0), (300, 0), *at]
    marks = polyline("1", rim) + points("2", rim) + points("4", at)
    marks += points("13", [(x + 3.75, 488.0) for x, _ in at[1::2]])
    made = (piece(name=f"p{index}", boundary=marks) for index in range(900))
    return _pieces(folder, "darts", made)


@_maker
def dxf_arcs(folder: Path) -> Path:
    """Polylines of large arcs, each drawn out into hundreds of chords."""
    at = [(1e6 * (k % 2), 1e3 * k) for k in range(1_200)]
    arcs = polyline("8", at, bulges=[1.0] * len(at))
    made = (piece(arcs * 20, name=f"p{index}") for index in range(20))
    return _pieces(folder, "arcs", made)


@_maker
def dxf_validation_curves(folder: Path) -> Path:
    """Hundreds of curves beside a long outline."""
    at = [(x * 1.0001, y * 1.0001) for x, y in ring(190)]
    marks = "".join(polyline("84", at, closed=False) for _ in range(260))
    made = [piece(marks, name=f"p{k}", boundary=outline("1", 49_000)) for k in range(4)]
    return _pieces(folder, "validation", made)


@_maker
def dxf_many_corners(folder: Path) -> Path:
    """Every point of long outlines is a corner, with a cut line beside it."""
    at = ring(20_000, 390.0)
    marks = outline("1", 20_000) + polyline("14", at) + points("2", at[::41])
    return _pieces(folder, "corners", [piece(name=f"p{k}", boundary=marks) for k in range(12)])


@_maker
def dxf_fan_out_of_blocks(folder: Path) -> Path:
    """Blocks seven deep that draw nearly as many shapes as there may be."""
    first = block("b0", polyline("1", SQUARE) + points("2", SQUARE))
    rest = [block(f"b{n}", insert(f"b{n - 1}") * 5) for n in range(1, 8)]
    top = block("top", words("Piece Name: top", "Size: 38"), insert("b6"), insert("b5") * 2)
    return save(folder / "fan.dxf", style([first, *rest, top], METRIC, insert("top")))


@_maker
def dxf_blocks_that_share_blocks(folder: Path) -> Path:
    """Thousands of blocks that each hold one large one."""
    inner = block("inner", outline("1", 40_000), points("3", ring(100)))
    made = [block(f"p{k}", words(f"Piece Name: p{k}"), insert("inner")) for k in range(4_900)]
    inserts = [insert(f"p{k}") for k in range(4_900)]
    return save(folder / "share.dxf", style([inner, *made], METRIC, *inserts))


@_maker
def dxf_lines_of_one_text(folder: Path) -> Path:
    """One text of millions of lines."""
    long = pairs(0, "MTEXT", 8, 15, 10, 0, 20, 0, 1, "\\P" * 15_000_000)
    return _pieces(folder, "mtext", [piece(long)])


@_maker
def dxf_extras(folder: Path) -> Path:
    """Over a million entities that nobody understands, each on a layer of its own."""
    odd = "".join(pairs(0, f"ODD{k}", 8, k) for k in range(590_000))
    return _pieces(folder, "extras", [piece(odd)])


@_maker
def dxf_header(folder: Path) -> Path:
    """Two million variables."""
    header = "".join(pairs(9, f"$V{k}", 70, k) for k in range(1_950_000))
    content = style([piece()], METRIC, insert("front-38"), header=header)
    return save(folder / "header.dxf", content)


@_maker
def dxf_damaged_300_000_lines(folder: Path) -> Path:
    """A frame that is not sound, as long as the recovery reader takes."""
    made = [piece(name=f"p{k}", boundary=outline("1", 3_600)) for k in range(10)]
    content = style(made, METRIC, *(insert(f"p{k}-38") for k in range(10)))
    content = content.replace("0\nENDBLK\n8\n0\n", "0\nENDBLK\n8\n0\n" * 2, 1)
    return save(folder / "damaged.dxf", content)


@_maker
def dxf_binary(folder: Path) -> Path:
    """A binary file that the recovery reader takes."""
    import ezdxf

    document = ezdxf.new("R2000")
    for index in range(3):
        own = document.blocks.new(f"p{index}")
        own.add_lwpolyline(ring(45_000), close=True, dxfattribs={"layer": "1"})
        document.modelspace().add_blockref(own.name, (0, 0))
    path = folder / "binary.dxf"
    document.saveas(path, fmt="bin")
    return path


@_maker
def dxf_cut_off(folder: Path) -> Path:
    """A file of nearly three million lines that ends in the middle."""
    path = dxf_cut_and_seam_lines_with_every_point_marked(folder)
    path.write_bytes(b"\n".join(path.read_bytes().split(b"\n")[:2_990_001]))
    return path


@_maker
def dxf_letters_of_another_alphabet(folder: Path) -> Path:
    """A large file in a code page."""
    made = [piece(name=f"r\xfcck{k}", boundary=outline("1", 49_000)) for k in range(16)]
    return _pieces(folder, "letters", made)


# ------------------------------------------------------------------------------ rule files


@_maker
def rules_100_000_in_many_sizes(folder: Path) -> Path:
    """As many rules and pairs as there may be."""
    numbers = "".join(text("2", at, f"# {k + 1}") for k, at in enumerate(SQUARE))
    return _pieces(folder, "rules", [piece(numbers, size="0")], table(10, 99_000, "1.5, 1.25"))


@_maker
def rules_of_2_million_points(folder: Path) -> Path:
    """One block whose points in all sizes are as many as may be."""
    at = ring(5_600)
    numbers = "".join(text("2", p, "# 1") for p in at[::9])
    made = [piece(numbers, size="0", boundary=polyline("1", at) + points("2", at[::900]))]
    return _pieces(folder, "graded", made, table(200, 5))


@_maker
def rules_of_many_blocks(folder: Path) -> Path:
    """As many graded blocks as the number of drawings allows."""
    at = ring(19_000)
    numbers = "".join(text("2", p, "# 1") for p in at[::1_900])
    body = polyline("1", at) + points("2", at[::1_900])
    made = [piece(numbers, name=f"p{k}", size="0", boundary=body) for k in range(24)]
    return _pieces(folder, "grades", made, table(200, 5))


@_maker
def rules_at_every_point(folder: Path) -> Path:
    """Fifty sizes of twenty pieces with a number at every point."""
    at = ring(700)
    numbers = "".join(text("2", p, f"# {k + 1}") for k, p in enumerate(at))
    body = polyline("1", at) + points("2", at[::70]) + points("3", at)
    made = [piece(numbers, name=f"p{k}", size="0", boundary=body) for k in range(22)]
    return _pieces(folder, "numbers", made, table(50, 700))


# ------------------------------------------------------------------------------------ SVG


def svg(body: str, head: str = "") -> str:
    """An SVG drawing of half a metre."""
    return (
        f'{head}<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" '
        f'viewBox="0 0 500 500">{body}</svg>'
    )


def _drawing(folder: Path, body: str, head: str = "") -> Path:
    path = folder / "front_38.svg"
    path.write_text(svg(body, head), encoding="utf-8")
    return path


def _path(count: int, name: str, radius: float = 200.0) -> str:
    at = "".join(f"L{x + 250} {y + 250}" for x, y in ring(count, radius, 4.0))
    return f'<path id="{name}" d="M{at[1:]}Z"/>'


@_maker
def svg_paths_of_100_000_points(folder: Path) -> Path:
    """Four paths as long as one may be."""
    return _drawing(folder, "".join(_path(95_000, f"p{k}") for k in range(4)))


@_maker
def svg_path_of_a_million_points(folder: Path) -> Path:
    """One path longer than one may be."""
    return _drawing(folder, _path(1_000_000, "front"))


@_maker
def svg_wild_curves(folder: Path) -> Path:
    """Curves that take as many points as there may be."""
    loops = "".join(f"C{k % 7}e2 0 0 {k % 5}e2 {k % 450} {k // 45 % 450}" for k in range(4_000))
    return _drawing(folder, f'<path id="front" d="M0 0{loops}Z"/>')


@_maker
def svg_long_edges_end_to_end(folder: Path) -> Path:
    """An outline of thousands of single lines that meet."""
    at = [(x + 250, y + 250) for x, y in ring(29_000, 200.0)]
    lines = "".join(
        f'<path d="M{a[0]} {a[1]}L{b[0]} {b[1]}"/>'
        for a, b in zip(at, [*at[1:], at[0]], strict=True)
    )
    return _drawing(folder, f'<g id="front">{lines}</g>')


@_maker
def svg_branches(folder: Path) -> Path:
    """A chain of lines with a free end: each is left out before the next can be."""
    chain = "".join(
        f'<path d="M{k / 100} {k % 2}L{(k + 1) / 100} {(k + 1) % 2}"/>' for k in range(29_000)
    )
    return _drawing(folder, f'<rect id="front" y="20" width="90" height="80"/>{chain}')


@_maker
def svg_pieces(folder: Path) -> Path:
    """Hundreds of pieces with lines on each."""
    made = "".join(
        f'<g id="p{k}" transform="translate({k % 32 * 15} {k // 32 * 15})">'
        '<rect width="12" height="12"/>'
        + "".join(f'<path d="M2 {1 + j / 5}h8"/>' for j in range(40))
        + "</g>"
        for k in range(700)
    )
    return _drawing(folder, made)


@_maker
def svg_marks_on_one_piece(folder: Path) -> Path:
    """As many lines and notches on one long outline as there may be."""
    marks = "".join(
        f'<path class="notch" d="M{x + 250} {y + 250}l1 1"/>' for x, y in ring(100, 200.0, 4.0)
    )
    return _drawing(folder, f'<g id="front">{_path(95_000, "outline")}{marks}</g>')


@_maker
def svg_copies(folder: Path) -> Path:
    """Copies of copies up to the number of steps."""
    groups = '<g id="u0">' + '<path d="M0 0h9v9z"/>' * 10 + "</g>"
    groups += "".join(
        f'<g id="u{i}">' + f'<use href="#u{i - 1}"/>' * 12 + "</g>" for i in range(1, 4)
    )
    return _drawing(folder, f'<defs>{groups}</defs><use href="#u3"/>')


@_maker
def svg_copy_of_itself(folder: Path) -> Path:
    """Copies that hold each other."""
    return _drawing(folder, '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>')


@_maker
def svg_deep(folder: Path) -> Path:
    """Groups in groups in groups."""
    return _drawing(folder, "<g>" * 300_000 + "</g>" * 300_000)


@_maker
def svg_transforms(folder: Path) -> Path:
    """A transform of ten million letters, and numbers that overflow."""
    turns = "rotate(1) " * 1_000_000
    return _drawing(folder, f'<rect id="front" width="90" height="80" transform="{turns}"/>')


@_maker
def svg_giant_transform(folder: Path) -> Path:
    """A scale without end."""
    scales = "scale(1e300) " * 3
    return _drawing(folder, f'<rect id="front" width="90" height="80" transform="{scales}"/>')


@_maker
def svg_attributes(folder: Path) -> Path:
    """Elements of long attributes: 60 MB of them."""
    long = "x" * 60_000
    made = "".join(f'<rect id="{long}{k}" width="90" height="80"/>' for k in range(1_000))
    return _drawing(folder, made)


@_maker
def svg_elements(folder: Path) -> Path:
    """As many elements as there may be, each with attributes."""
    made = '<text x="1" y="2" class="a b" data-a="b">x</text>' * 199_000
    return _drawing(folder, f'<rect id="front" width="90" height="80"/>{made}')


@_maker
def svg_entity_bomb(folder: Path) -> Path:
    """Entities of entities."""
    laughs = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10 if i else "ha"}">' for i in range(12))
    return _drawing(folder, "<text>&l11;</text>", f"<!DOCTYPE svg [{laughs}]>")


# ---------------------------------------------------------------------------- our own forms


def _geometry(edges: list[dict[str, object]], sizes: int = 1) -> str:
    own = {"edges": edges, "grain": [[0, 0], [0, 100]]}
    return json.dumps({"format": 1, "piece": "a", "sizes": {str(k): own for k in range(sizes)}})


@_maker
def json_points(folder: Path) -> Path:
    """A piece of two million points."""
    at = ring(1_000_000)
    edges = [{"name": "a", "points": [*at, at[0]]}]
    path = folder / "a.json"
    path.write_text(_geometry(edges, 2), encoding="utf-8")
    return path


@_maker
def json_deep(folder: Path) -> Path:
    """Lists in lists."""
    path = folder / "a.json"
    path.write_text('{"format": ' + "[" * 2_000_000, encoding="utf-8")
    return path


@_maker
def json_keys(folder: Path) -> Path:
    """An object of a million keys, the last one twice."""
    keys = ", ".join(f'"k{k}": 1' for k in range(1_000_000))
    path = folder / "a.json"
    path.write_text(f'{{{keys}, "k999999": 1}}', encoding="utf-8")
    return path


@_maker
def json_long_number(folder: Path) -> Path:
    """A number of a million digits."""
    path = folder / "a.json"
    path.write_text(f'{{"format": {"9" * 1_000_000}}}', encoding="utf-8")
    return path


@_maker
def json_path_data(folder: Path) -> Path:
    """Path data whose curves are as wide as they can be."""
    curves = "".join(f"C {k} 9e4 9e4 {k} {k % 9} {k % 7} " for k in range(100_000))
    path = folder / "a.json"
    path.write_text(_geometry([{"name": "a", "path": f"M 0 0 {curves}"}]), encoding="utf-8")
    return path


@_maker
def toml_deep(folder: Path) -> Path:
    """Lists in lists."""
    path = folder / "set.toml"
    path.write_text("format = " + "[" * 500_000, encoding="utf-8")
    return path


@_maker
def toml_long_number(folder: Path) -> Path:
    """A number of a million digits."""
    path = folder / "set.toml"
    path.write_text(f"format = {'9' * 1_000_000}", encoding="utf-8")
    return path


@_maker
def toml_seams(folder: Path) -> Path:
    """A hundred thousand tables that no set has."""
    path = folder / "set.toml"
    path.write_text("format = 1\n" + "[[seams]]\na = 1\n" * 100_000, encoding="utf-8")
    return path
