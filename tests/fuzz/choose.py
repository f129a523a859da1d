"""Choose a job by a seed."""

from __future__ import annotations

import random
from typing import Any

from propagate.demo import MAIN_JOBS
from propagate.engine.edits.kinds import EDITS
from propagate.pattern.told import told_fields
from tests.fuzz import bases
from tests.fuzz.jobs import Job
from tests.fuzz.text import random_splice
from tests.fuzz.tree import WORDS, random_change

__all__ = ["choose_job"]

_FORMS = ("svg", "svg-folder", "dxf", "dxf-rules", "json", "set")
_FEW = (1, 1, 1, 1, 2, 2, 3, 6)
_LENGTHS = (
    "0", "-1", "1e308", "nan", "inf", "10mm", "1in", "3/8in", "1/0in", "1e-9mm", "", "mm", "99999m",
    "9" * 400, "12,5cm", "5 mm", "\u0665", "upper", "lower", "waist", "hip", "hem", "0x10",
)  # fmt: skip


def choose_job(seed: int) -> Job:
    """Return the job of a seed; the same on every machine."""
    rng = random.Random(seed)
    kinds = {"set": _set_job, "drawing": _drawing_job, "edit": _edit_job, "command": _command_job}
    (kind,) = rng.choices(list(kinds), weights=(40, 32, 14, 14))
    return kinds[kind](rng)


def _base(rng: random.Random) -> str:
    return rng.choices(bases.SETS, weights=(4, 12, 4, 4, *[1] * 7))[0]


def _set_job(rng: random.Random) -> Job:
    base = _base(rng)
    document = bases.document(base)
    changes: list[Any] = [random_change(document, rng) for _ in range(rng.choice(_FEW))]
    if rng.random() < 0.1:
        text = {"set.toml": bases.toml_text(document["set"])}
        changes.append(["raw", *random_splice(text, rng)])
    steps: list[Any] = []
    if rng.random() < 0.6:
        steps.append(["blend", _blend_options(document["set"], rng, odd=0.05)])
    if rng.random() < 0.2:
        steps.append(["convert", rng.choice(_FORMS)])
    if rng.random() < 0.1:
        words = rng.choice(
            [
                ["show", "{tmp}/set"],
                ["walk", "{tmp}/set", "--all-sizes"],
                ["walk", "{tmp}/set", "--json"],
                ["suggest", "{tmp}/set"],
                ["report", "{tmp}/set", "-o", "{tmp}/page.html"],
                ["print", "{tmp}/set", "-o", "{tmp}/paper.pdf", "--all-sizes"],
            ]
        )
        steps.append(["command", words])
    return Job("set", base, changes, steps)


def _blend_options(toml: Any, rng: random.Random, odd: float = 0.3) -> dict[str, Any]:
    """Options of a blend, some of them odd."""
    plan = toml.get("blend", {})
    name = str(toml.get("name")).replace(" ", "_")
    levels = list(MAIN_JOBS.get(name, ("waist", "hip")))
    if plan:
        levels = [plan.get("upper", "waist"), plan.get("lower", "hip")]
    if "leg" in plan and rng.random() < 0.3:
        levels.append(plan["leg"]["level"])
    options: dict[str, Any] = {"sizes": {level: rng.choice(toml["sizes"]) for level in levels}}
    others = {
        "follow": ("shape", "length"),
        "top": ("trued", "traced"),
        "pocket": ("upper", "lower"),
        "rise": ("upper", "lower", 150.0, 240.0, 251.3, 300.0),
        "hold": (None, "hip", 0.0, 10.0, 55.5, 120.0),
    }
    strange = {
        "rise": (0.0, -5.0, 1e9, 1e308, 1e-9, float("nan"), float("inf"), 20.0, 500.0),
        "hold": ("hem", "nowhere", "", -1.0, -60.0, 1e4, 1e308, float("nan"), 399.999, 700.0),
        "sizes": ({}, {"waist": "36"}, {"waist": "", "hip": "x"}, {"hip": "36", "é": "38"}),
    }
    for key, values in others.items():
        if rng.random() < 0.4:
            options[key] = rng.choice(values)
    for key, values in strange.items():
        if rng.random() < odd:
            options[key] = rng.choice(values)
    return options


def _edit_job(rng: random.Random) -> Job:
    base = rng.choices(bases.SETS, weights=(2, 10, 6, 4, 4, *[1] * 6))[0]
    document = bases.document(base)
    if rng.random() < 0.4:
        return Job("edit", base, [], [["blend", _blend_options(document["set"], rng)]])
    sent = rng.sample(list(document["geometry"]), rng.choice([1, 1, 1, 2]))
    changes: list[Any] = [["sent", name] for name in sent]
    document["sent"] = {name: document["geometry"][name] for name in sent}
    if rng.random() < 0.5:  # the base size alone
        for name in sent:
            sizes = document["sent"][name]["sizes"]
            changes += [["drop", ["sent", name, "sizes", s]] for s in sizes if s != _middle(sizes)]
            document["sent"][name]["sizes"] = {_middle(sizes): sizes[_middle(sizes)]}
    changes += [random_change(document, rng, root="sent") for _ in range(rng.choice(_FEW))]
    options: dict[str, Any] = {
        "carry": rng.choice(["millimetres", "proportion"]),
        "follow": rng.choice(["shape", "length"]),
        "tolerance": rng.choice([0.05, 0.05, 0.05, 0.001, 0.5, 5.0]),
    }
    return Job("edit", base, changes, [["revise", options]])


def _middle(sizes: Any) -> str:
    names: list[str] = list(sizes)
    return names[len(names) // 2]


def _drawing_job(rng: random.Random) -> Job:
    weights = [6, 6, 5, 2, 2, 3, 3, 1, 0.5, 0.5, 0.5, 0.2, 0.5, 1, 0.5, 0.2]
    base = rng.choices(bases.DRAWINGS, weights=weights)[0]
    files = bases.drawing(base)
    changes = [random_splice(files, rng) for _ in range(rng.choice([1, 1, 1, 2, 3, 6, 20]))]
    steps: list[Any] = []
    if rng.random() < 0.2:
        steps.append(["wishes", _wishes(rng)])
    if rng.random() < 0.3:
        steps.append(["convert", rng.choice(_FORMS)])
    return Job("drawing", base, changes, steps)


def _wishes(rng: random.Random) -> dict[str, Any]:
    return rng.choice(
        [
            {"unit": rng.choice(["mm", "cm", "in", "pt", "px"])},
            {"corner_angle": rng.choice([1.0, 5.0, 90.0, 120.0])},
            {"sizes": rng.choice([("38", "36", "40"), ("36",), ("x",), ("36", "36")])},
            {"base": rng.choice(["36", "x", ""])},
            {"join": rng.choice([0.0, 10.0])},
            {"notch": rng.choice([0.0, 100.0])},
            {"dpi": rng.choice([1.0, 1e5])},
            {"ignore": ("front",)},
            {"name": rng.choice(WORDS)},
            {"dxf": _dxf_option(rng)},
        ]
    )


def _dxf_option(rng: random.Random) -> dict[str, str]:
    key, values = rng.choice(
        [
            ("boundary", ("seam", "cut", "x")),
            ("mirror", ("keep", "unfold")),
            ("units", ("cm", "in")),
            ("deltas", ("stepwise", "from sample")),
            ("axis", ("drawing", "alternate")),
            ("corners", ("points", "angle")),
            ("corner_deg", ("1", "179", "nan", "-1")),
            ("darts", ("edges", "join")),
            ("allowance", ("10", "1e9", "nan", "-5")),
            ("quantity", ("halves", "x")),
            ("nothing", ("1",)),
        ]
    )
    return {key: rng.choice(values)}


# ----------------------------------------------------------------------------- commands


def _command_job(rng: random.Random) -> Job:
    command, options = rng.choice(_commands(rng))
    count = min(rng.choice([0, 1, 2, 3, 6]), len(options))
    changes = [list(words) for words in rng.sample(options, count)]
    if rng.random() < 0.1:
        changes.append([rng.choice(["--no-such", "-x", "--", "", "--json", *WORDS])])
    return Job("command", "", changes, [["words", command]])


def _commands(rng: random.Random) -> list[tuple[list[str], list[list[str]]]]:
    length, word = rng.choice(_LENGTHS), rng.choice(WORDS).replace("\ud800", "")
    size = rng.choice(["36", "38", "40", "99", "", word])
    source = rng.choice(["set", "gilet", "result"])
    drawn = rng.choice(["a.dxf", "a.svg", "front.json", "set"])
    piece = rng.choice(["front", "back", "facing", "upper_front", word])
    common = [["--json"], ["--unit", rng.choice(["mm", "in", "cm", ""])]]
    reading = [
        ["--name", word],
        ["--sizes", rng.choice(["36", "36,38", "40,38,36", ",", word])],
        ["--base", size],
        ["--unit", rng.choice(["mm", "cm", "in", "pt", "px", "ft"])],
        ["--dpi", rng.choice(["0", "1", "72", "1e5", "nan", "inf", "-1"])],
        ["--corner-angle", rng.choice(["1", "120", "0", "nan", "25.5"])],
        ["--join", rng.choice(["0", "10", "nan", "1e-9", "-0"])],
        ["--notch", rng.choice(["0", "100", "inf", "nan"])],
        ["--ignore", word],
        ["--rules", rng.choice(["{tmp}/a.rul", "{tmp}/a.dxf", "{tmp}", "{tmp}/none", word])],
        ["--dxf", "=".join(next(iter(_dxf_option(rng).items())))],
        ["--dxf", word],
        ["--json"],
    ]
    body = rng.choice(["waist", "hip", word])
    levels = rng.choice(["waist", "hip", word])
    out = ["-o", "{tmp}/" + rng.choice(["out", "set", "a.dxf", "none/out", "é\u202e", "x" * 300])]
    return [
        _change_command(rng, source, length, word),
        (["show", f"{{tmp}}/{source}"], common),
        (["walk", f"{{tmp}}/{source}"], [["--size", size], ["--all-sizes"], *common]),
        (
            ["suggest", f"{{tmp}}/{source}"],
            [["--accept", rng.choice(["0", "0.9", "nan"])], ["--least", length], ["--json"]],
        ),
        (
            ["blend", f"{{tmp}}/{rng.choice(['set', 'set', 'gilet', 'result'])}"],
            [
                ["--size", f"waist={rng.choice(['36', '38', '40', size])}"],
                ["--size", f"hip={rng.choice(['36', '38', '40', size])}"],
                ["--size", f"{levels}={size}"],
                ["--body", f"{body}={length}"],
                ["--body", rng.choice(["waist=700mm,hip=32in", "waist=1,waist=2", ",=,", word])],
                ["--rise", length],
                ["--hold", rng.choice([length, word])],
                ["--pocket", rng.choice(["upper", "lower", "waist", "hip", word])],
                ["--follow", rng.choice(["shape", "length", word])],
                ["--top", rng.choice(["trued", "traced"])],
                ["--replace"],
                out,
                *common,
            ],
        ),
        (
            ["revise", "{tmp}/set", "--from", f"{{tmp}}/{drawn}"],
            [
                ["--piece", piece],
                ["--carry", rng.choice(["millimetres", "proportion", word])],
                ["--within", rng.choice(["0.001", "5", "nan", "0", "1e9"])],
                ["--onto", f"{{tmp}}/{drawn}"],
                rng.choice([out, ["-o", "{tmp}/o.svg"], ["-o", "{tmp}/o.dxf"], ["-o", word]]),
                *reading,
            ],
        ),
        (["why", "{tmp}/result", rng.choice([piece, f"{piece}.side", ".", word])], common),
        (
            [rng.choice(["draw", "report"]), f"{{tmp}}/{source}", "-o", "{tmp}/page.html"],
            [["--size", size], ["--piece", piece], ["--replace"], *common],
        ),
        (
            ["print", f"{{tmp}}/{source}", "-o", "{tmp}/paper.pdf"],
            [
                ["--paper", rng.choice(["a4", "a0", "36in-roll", "letter", word])],
                ["--layout", rng.choice(["tiled", "sheets", "one"])],
                ["--join", rng.choice(["overlap", "trim"])],
                ["--overlap", length],
                ["--size", size],
                ["--all-sizes"],
                ["--piece", piece],
                ["--nap"],
                ["--font", "{tmp}/a.dxf"],
                *common,
            ],
        ),
        (
            ["sheet", f"{{tmp}}/{rng.choice(['result', 'set'])}", "-o", "{tmp}/sheet.pdf"],
            [["--paper", rng.choice(["a4", "letter", "a0"])], ["--size", size], *common],
        ),
        (
            ["begin", f"{{tmp}}/{drawn}"],
            [
                out,
                ["-o", "{tmp}/new"],
                ["--like", "{tmp}/set"],
                ["--level", f"{levels}={piece}.side.{rng.choice(['start', 'end', word])}"],
                ["--relations", rng.choice(["{tmp}/set/set.toml", "{tmp}/a.svg", "{tmp}", word])],
                ["--keep-dxf"],
                *reading,
            ],
        ),
        (
            ["convert", f"{{tmp}}/{drawn}", "{tmp}/" + rng.choice(["o.svg", "o.dxf", "o", "o.x"])],
            [
                ["--to", rng.choice([*_FORMS, "dxf-as-read"])],
                ["--decimals", rng.choice(["0", "9", "-1", "10", "nan", "1e9"])],
                ["--onto", "{tmp}/a.dxf"],
                *reading,
            ],
        ),
        (["demo", rng.choice(["scoop_skirt", word]), "{tmp}/demo"], common),
        ([rng.choice([*WORDS, "blnd", "--version", "--help"])], common),
    ]


def _change_command(
    rng: random.Random, source: str, length: str, word: str
) -> tuple[list[str], list[list[str]]]:
    """An edit with what it needs, and what it may have; some of it odd."""
    kind = rng.choice(list(EDITS.values()))
    said = {}
    for one in told_fields(kind.load()):
        known = _SAID.get(one.told.form, one.told.choices or _NAMES)
        said[one.key] = rng.choice([*known, *known, *known, length, word])
    needed = {one.key for one in told_fields(kind.load()) if one.required}
    if rng.random() < 0.1:
        needed = set()
    words = [f"{key}={value}" for key, value in said.items() if key in needed]
    options = [[f"{key}={value}"] for key, value in said.items() if key not in needed]
    options += [["--sizes", rng.choice(["36", "38,40", "", word])], ["--amounts", "proportion"]]
    options += [["--follow", "shape"], ["-o", "{tmp}/out"], ["--json"]]
    return ["change", f"{{tmp}}/{source}", kind.word, *words], options


_NAMES = (
    "waist", "hip", "knee", "hem", "front", "back", "facing", "dart", "side_seam", "front_pocket",
    "front.hip_notch", "back.hip_notch", "back.dart", "waist.lower", "start", "end", "0.4", "30",
)  # fmt: skip
_SAID = {
    "edge": (
        "front.side",
        "back.side",
        "full_front.side",
        "back.waist",
        "front.hem",
        "facing.inner",
    ),
    "place": ("waist", "hip", "start", "end", "60mm", "hip_notch"),
    "places": ("waist", "hip", "start,end", "80mm", "hip_notch"),
    "amount": ("3mm", "10mm", "2%", "-4mm", '{ "36" = 3, "38" = 4 }', "80mm", "{}"),
    "amounts": ("3mm", "10mm,5mm", "2%,1%", "-4mm,2mm", '[{ "36" = 3, "38" = 4 }, 2]', ",", "[]"),
    "levels": ("knee", "knee,hip", "waist,knee,hem", "hip,hip", "[]"),
    "flag": ("true", "false"),
    "ease": ("3", "{ share = 0.02 }", "{ from = 1, to = 4 }", "[]"),
}
