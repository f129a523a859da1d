"""The fixed list of jobs: every command on every demo set, and every way that matters."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import permutations, product
from pathlib import Path

from propagate.demo import MAIN_JOBS, demo_path
from propagate.engine.edits.kinds import EDITS
from tests.corpus.changes import CHANGES, send
from tests.corpus.job import Job
from tests.corpus.papers import paper_jobs
from tests.corpus.refusals import refused_jobs

__all__ = ["SETS", "all_jobs"]

SETS = demo_path().parent
"""The folder of the demo sets, which the workshop gets a copy of."""

BLENDED = {
    "slant_trouser": ("waist", "hip"),
    "scoop_skirt": ("natural_waist", "seat"),
    "workshop_gilet": ("waist", "hip"),
    "lined_skirt": ("waist", "hip"),
}
"""Sets that can be blended, with the upper and lower level."""
MAINS = {
    "slant_trouser": ("front", "back"),
    "scoop_skirt": ("skirt_front", "skirt_back"),
    "workshop_gilet": ("upper_front", "upper_back", "lower_front", "lower_back"),
    "lined_skirt": ("front", "back"),
    "apron": ("apron",),
}
BODIES = {
    "slant_trouser": ("waist=770mm,hip=104cm", "waist=30 1/4in,hip=41in"),
    "scoop_skirt": ("natural_waist=28 1/2in,seat=100cm",),
    "workshop_gilet": ("waist=800,hip=104cm",),
    "lined_skirt": ("waist=27in,hip=104cm",),
}
APRON = tuple(f"garden_apron/garden_apron_{size}.svg" for size in "SML")
RELATIONS = ("--relations", "garden_apron/relations.toml")
FORMS = {
    "dxf": "out.dxf",
    "dxf-rules": "out.dxf",
    "svg": "out.svg",
    "svg-folder": "out",
    "json": "out",
    "set": "out",
}

_QUICK_FORMS = {("scoop_skirt", "svg"), ("workshop_gilet", "dxf-rules")}


def all_jobs() -> Iterator[Job]:
    """Yield the jobs in their order: later ones may need what earlier ones kept in the workshop."""
    yield from _apron_jobs()
    yield from _convert_jobs()
    yield from _begin_jobs()
    yield from _look_jobs()
    yield from _blend_jobs()
    yield from _option_jobs()
    yield from _revise_jobs()
    yield from _revised_file_jobs()
    yield from _edit_jobs()
    yield from _level_jobs()
    yield from _result_jobs()
    yield from _print_jobs()
    yield from paper_jobs()
    yield from _demo_and_help_jobs()
    yield from refused_jobs()


def _level_jobs() -> Iterator[Job]:
    """Main jobs, demos and walks of the sets that are not blended pair by pair."""
    for name in sorted(MAIN_JOBS.keys() - BLENDED.keys()):
        sizes = ",".join(f"{level}={size}" for level, size in MAIN_JOBS[name].items())
        yield Job(f"blend/{name}/main", ("blend", name, "--size", sizes, "-o", "out"))
        yield Job(f"demo/{name}", ("demo", name, "out"))
        yield Job(f"walk/{name}", ("walk", name, "--all-sizes"))
    longer = ("change", "lined_skirt", "lengthen", "level=thigh", "by=20mm", "-o", "out")
    yield Job("change/lined_skirt/lengthen", longer)


def sizes_of(name: str) -> tuple[tuple[str, ...], str]:
    """The sizes of a set in the workshop, and its base size."""
    text = tomllib.loads(Path(name, "set.toml").read_text(encoding="utf-8"))
    return tuple(str(size) for size in text["sizes"]), str(text["base"])


def _sizes(name: str, upper: str, lower: str) -> tuple[str, ...]:
    high, low = BLENDED[name]
    return ("--size", f"{high}={upper}", "--size", f"{low}={lower}")


def _main_sizes(name: str) -> tuple[str, ...]:
    return _sizes(name, *(MAIN_JOBS[name][level] for level in BLENDED[name]))


# ------------------------------------------------------------------------------- files


def _apron_jobs() -> Iterator[Job]:
    yield Job("begin/apron", ("begin", *APRON, *RELATIONS, "-o", "out"), True, keep="apron")


def _convert_jobs() -> Iterator[Job]:
    for name, (form, out) in product(MAINS, FORMS.items()):
        words = ("convert", name, out, "--to", form)
        needed = name == "apron" or form == "json" or (name, form) in _QUICK_FORMS
        keep = f"forms/{name}/{form}/style" + ("" if "." not in out else Path(out).suffix)
        yield Job(f"convert/{name}/{form}", words, needed, keep=keep)
    for name in ("scoop_skirt", "apron"):
        for words in (("out.svg", "--decimals", "2"), ("out.dxf", "--decimals", "1", "--json")):
            label = "-".join(words).replace("--", "")
            yield Job(f"convert/{name}/{label}", ("convert", name, *words), name == "apron")
    gilet, drawing = "workshop_gilet", "workshop_gilet/workshop_gilet.dxf"
    yield Job("convert/gilet_as_read", ("convert", gilet, "out.dxf"), True)
    yield Job("convert/gilet_onto", ("convert", gilet, "out.dxf", "--onto", drawing))
    yield Job("convert/gilet_drawing", ("convert", drawing, "out.svg"), True)
    yield Job("convert/gilet_json", ("convert", drawing, "out", "--to", "json", "--json"))


def _begin_jobs() -> Iterator[Job]:
    yield Job("begin/apron_bare", ("begin", *APRON, "-o", "out"), True)
    yield Job("begin/apron_json", ("begin", *APRON, "-o", "out", "--json"), True)
    for words in (
        ("--corner-angle", "40"), ("--join", "1", "--notch", "3"), ("--unit", "in"),
        ("--base", "L"), ("--sizes", "1,2,3", "--name", "bib"), ("--like", "apron"),
        ("--level", "mine=apron.fold.start"),
    ):  # fmt: skip
        yield Job(f"begin/apron{words[0]}", ("begin", *APRON, *words, "-o", "out"))
    for name, form in product(MAINS, ("dxf", "dxf-rules", "svg")):
        style = f"forms/{name}/{form}/style.{form[:3]}"
        quick = name == "apron" or (name, form) == ("workshop_gilet", "dxf-rules")
        yield Job(f"begin/{name}/{form}", ("begin", style, "-o", "out"), quick)
        like = ("begin", style, "-o", "out", "--like", name, "--json")
        yield Job(f"begin/{name}/{form}_like", like, name == "apron")
    drawing = "workshop_gilet/workshop_gilet.dxf"
    kept = ("--relations", "workshop_gilet/set.toml", "--keep-dxf")
    yield Job("begin/gilet", ("begin", drawing, "-o", "out"), True)
    yield Job("begin/gilet_kept", ("begin", drawing, *kept, "-o", "out"), True)
    for option in ("deltas=from sample", "boundary=cut", "mirror=unfold"):
        words = ("begin", drawing, "--dxf", option, "-o", "out")
        yield Job(f"begin/gilet_{option.replace(' ', '_')}", words)
    cut = ("--boundary", "cut", "--allowance", "10mm", "--allowance", "hem=30mm")
    yield Job("begin/apron--boundary", ("begin", *APRON, *cut, "-o", "out"))
    yield Job("begin/gilet--boundary", ("begin", drawing, "--boundary", "cut", "-o", "out"))


def _look_jobs() -> Iterator[Job]:
    """What is said of a set."""
    for name in MAINS:
        yield Job(f"show/{name}/text", ("show", name), True)
        yield Job(f"show/{name}/json", ("show", name, "--json"), True)
        yield Job(f"show/{name}/in", ("show", name, "--unit", "in"))
        yield Job(f"walk/{name}/all", ("walk", name, "--all-sizes"), name != "slant_trouser")
        yield Job(f"walk/{name}/json", ("walk", name, "--json"), True)
        yield Job(f"walk/{name}/in", ("walk", name, "--unit", "in"))
        for size in sizes_of(name)[0]:
            yield Job(f"walk/{name}/{size}", ("walk", name, "--size", size))
        yield Job(f"suggest/{name}/text", ("suggest", name), name == "scoop_skirt")
        yield Job(f"suggest/{name}/json", ("suggest", name, "--json"))
        least = ("suggest", name, "--least", "0")
        yield Job(f"suggest/{name}/least", least, name == "apron")
    form = "forms/workshop_gilet/dxf-rules/style.dxf"
    yield Job("begin/gilet_bare", ("begin", form, "-o", "out"), True, keep="bare")
    yield Job("suggest/bare/text", ("suggest", "bare", "--accept", "0.9"), True)
    yield Job("suggest/bare/page", ("suggest", "bare", "--html", "out.html"), True)
    yield Job("suggest/bare/accepted", ("convert", "bare", "out"), True)
    yield Job("walk/bare", ("walk", "bare", "--all-sizes"), True)


# ------------------------------------------------------------------------------- blends


def _blend_jobs() -> Iterator[Job]:
    """Every ordered pair of sizes, and every size with itself."""
    count = 0
    for name in BLENDED:
        sizes = sizes_of(name)[0]
        for upper, lower in [*permutations(sizes, 2), *((size, size) for size in sizes)]:
            count += 1
            words = ("blend", name, *_sizes(name, upper, lower), "-o", "out")
            yield Job(f"blend/{name}/{upper}-{lower}", words, count % 9 == 0)


def _option_jobs() -> Iterator[Job]:
    """Options on a far pair, a near one, and one that goes down."""
    count = 0
    for name, (high, low) in BLENDED.items():
        sizes = sizes_of(name)[0]
        options = [
            ("--follow", "length"), ("--top", "traced"), ("--rise", "lower"), ("--rise", low),
            ("--rise", "200mm"), ("--pocket", "lower"), ("--pocket", high), ("--hold", low),
            ("--hold", "60"), ("--hold", "1in"), ("--unit", "in"), ("--json",),
            ("--follow", "length", "--top", "traced", "--rise", "lower", "--pocket", "lower"),
        ]  # fmt: skip
        for upper, lower in ((sizes[1], sizes[4]), (sizes[2], sizes[3]), (sizes[-1], sizes[-3])):
            for option in options:
                count += 1
                label = "_".join(option).replace("--", "")
                words = ("blend", name, *_sizes(name, upper, lower), *option, "-o", "out")
                yield Job(f"option/{name}/{upper}-{lower}/{label}", words, count % 8 == 0)
        for i, body in enumerate(BODIES[name]):
            words = ("blend", name, "--body", body, "-o", "out")
            yield Job(f"option/{name}/body_{i}", words, i == 0)
            yield Job(f"option/{name}/body_{i}_in", (*words, "--unit", "in", "--json"))
    for leg in ("38", "46", "52"):
        words = ("blend", "slant_trouser", "--size", f"waist=42,hip=48,knee={leg}", "-o", "out")
        yield Job(f"option/slant_trouser/leg_{leg}", words, leg == "46")
    for upper, lower in (("43.5", "45"), ("37", "37"), ("52", "53"), ("55", "42")):
        words = ("blend", "slant_trouser", *_sizes("slant_trouser", upper, lower), "-o", "out")
        yield Job(f"option/slant_trouser/between_{upper}-{lower}", words, upper == "43.5")
    part = ("blend", "scoop_skirt", "--body", "natural_waist=28in", "--size", "seat=L", "-o", "out")
    yield Job("option/scoop_skirt/part_body", part)


# ---------------------------------------------------------------------------- revisions


def _source(name: str, piece: str) -> str:
    return f"forms/{name}/json/style/{piece}.json"


def _revise_jobs() -> Iterator[Job]:
    """Every edge of every main piece changed in two of three ways; a few of the other pieces."""
    ways = list(product(("millimetres", "proportion"), ("length", "shape")))
    count = 0
    for name, mains in MAINS.items():
        sizes, base = sizes_of(name)
        for file in sorted(Path(_source(name, "x")).parent.glob("*.json")):
            piece = file.stem
            edges = _edge_names(file, base)
            for number, change in product(range(len(edges)), CHANGES):
                count += 1
                whole = number == len(edges) // 2 and piece in mains
                turn = number + count  # two of three changes for an edge, other ones each time
                if not whole and (turn % 3 == 0 if piece in mains else turn % 9):
                    continue
                ready = partial(send, str(file), "sent.json", number, change, [base])
                quick = count % 14 == 0
                for way in ways if whole and change == "corner" else [ways[count % len(ways)]]:
                    label = f"revise/{name}/{piece}.{edges[number]}/{change}_{'_'.join(way)}"
                    yield _revision(label, name, way, ready, quick)
                if whole and change == "bump":
                    ready = partial(send, str(file), "sent.json", number, change, sizes)
                    label = f"revise/{name}/{piece}.{edges[number]}/{change}_all_sizes"
                    yield _revision(label, name, ways[0], ready, False)


def _revision(label: str, name: str, way: Sequence[str], ready: partial[None], quick: bool) -> Job:
    words = ("--from", "sent.json", "--carry", way[0], "--follow", way[1], "-o", "out")
    return Job(label, ("revise", name, *words), quick, ready=ready)


def _edge_names(file: Path, size: str) -> list[str]:
    sized = json.loads(file.read_text(encoding="utf-8"))["sizes"][size]
    return [edge["name"] for edge in sized["edges"]]


def _revised_file_jobs() -> Iterator[Job]:
    """Drawings that come back as DXF and SVG, what is written of them, and two pieces at once."""
    folder = "workshop_gilet/revised"
    base = ("revise", "workshop_gilet", "--from", f"{folder}/front_base_size.dxf")
    every = ("revise", "workshop_gilet", "--from", f"{folder}/front_all_sizes.dxf")
    onto = ("--onto", "workshop_gilet/workshop_gilet.dxf")
    yield Job("revise/gilet_files/base", (*base, "-o", "out"), True, keep="revised/workshop_gilet")
    for label, more in {
        "told": (), "json": ("--json",), "dxf": ("-o", "out.dxf"), "svg": ("-o", "out.svg"),
        "onto": ("-o", "out.dxf", *onto), "within": ("--within", "0.5", "-o", "out"),
        "proportion": ("--carry", "proportion", "-o", "out"), "piece": ("--piece", "lower_front"),
    }.items():  # fmt: skip
        yield Job(f"revise/gilet_files/base_{label}", (*base, *more), label == "json")
        yield Job(f"revise/gilet_files/all_{label}", (*every, *more), label == "dxf")
    both = (*base, "--from", f"{folder}/front_all_sizes.dxf", "-o", "out")
    yield Job("revise/gilet_files/both", both)
    for name, (form, ending) in product(MAINS, (("dxf", "dxf"), ("svg", "svg"))):
        words = ("revise", name, "--from", f"forms/{name}/{form}/style.{ending}", "-o", "out")
        yield Job(f"revise/unchanged/{name}_{form}", words, name == "apron")
    for name, piece, number in (("slant_trouser", "front", 2), ("scoop_skirt", "skirt_front", 0)):
        file = _source(name, piece)
        ready = partial(send, file, "sent.json", number, "bump", [sizes_of(name)[1]])
        words = ("revise", name, "--from", "sent.json", "-o", "out")
        yield Job(f"revise/kept/{name}", words, ready=ready, keep=f"revised/{name}")
        yield Job(f"revise/kept/{name}_json", ("revise", name, "--from", "sent.json", "--json"))


# ------------------------------------------------------------- what results are shown as


def _result_jobs() -> Iterator[Job]:
    """Results of the main jobs and revised sets: told, explained, drawn, shown, on paper."""
    for name in BLENDED:
        words = ("blend", name, *_main_sizes(name))
        kept = f"results/{name}"
        yield Job(f"blend/main/{name}", (*words, "-o", "out"), name == "scoop_skirt", keep=kept)
        yield Job(f"blend/main/{name}_json", (*words, "--json"), True)
        yield Job(f"blend/main/{name}_in", (*words, "--unit", "in"), True)
    for result in (*(f"{kind}/{name}" for kind in ("results", "revised") for name in BLENDED),):
        quick = result in ("results/scoop_skirt", "revised/workshop_gilet")
        name = result.partition("/")[2]
        for piece in sorted(Path(f"forms/{name}/json/style").glob("*.json")):
            yield Job(f"why/{result}/{piece.stem}", ("why", result, piece.stem), quick)
        main = MAINS[name][0]
        edge = f"{main}.{_edge_names(Path(_source(name, main)), sizes_of(name)[1])[0]}"
        yield Job(f"why/{result}/edge", ("why", result, edge, "--unit", "in"), quick)
        yield Job(f"why/{result}/json", ("why", result, MAINS[name][-1], "--json"), quick)
        yield Job(f"show/{result}", ("show", result), quick)
        yield Job(f"walk/{result}", ("walk", result, "--all-sizes"), quick)
        yield Job(f"suggest/{result}", ("suggest", result))
        yield from _shown(result, quick)
        yield Job(f"sheet/{result}/a4", ("sheet", result, "-o", "out.pdf"), quick)
        inches = ("sheet", result, "-o", "out.pdf", "--paper", "letter", "--unit", "in", "--json")
        yield Job(f"sheet/{result}/letter", inches)
        yield Job(f"print/{result}", ("print", result, "-o", "out.pdf"))
    for name in MAINS:
        yield from _shown(name, name == "apron")


def _shown(source: str, quick: bool) -> Iterator[Job]:
    yield Job(f"report/{source}/mm", ("report", source, "-o", "out.html"), quick)
    inches = ("report", source, "-o", "out.html", "--unit", "in", "--json")
    yield Job(f"report/{source}/in", inches)
    yield Job(f"draw/{source}/mm", ("draw", source, "-o", "out"), quick)
    yield Job(f"draw/{source}/in", ("draw", source, "-o", "out", "--unit", "in", "--json"))


def _print_jobs() -> Iterator[Job]:
    """Prints of sets; with options on the two that are quickest."""
    for name in MAINS:
        yield Job(f"print/{name}/a4", ("print", name, "-o", "out.pdf"), name == "apron")
        yield Job(
            f"print/{name}/all", ("print", name, "--all-sizes", "--paper", "a0", "-o", "out.pdf")
        )
    piece = {"scoop_skirt": "belt", "apron": "pocket"}
    for name, one in piece.items():
        for option in (
            ("--paper", "letter", "--unit", "in"), ("--paper", "a3", "--join", "trim"),
            ("--layout", "one"), ("--layout", "sheets", "--paper", "a1", "--nap"),
            ("--paper", "36in-roll"), ("--overlap", "15mm", "--json"), ("--piece", one),
            ("--size", sizes_of(name)[0][0], "--size", sizes_of(name)[0][-1]),
        ):  # fmt: skip
            label = "_".join(option).replace("--", "")
            words = ("print", name, *option, "-o", "out.pdf")
            yield Job(f"print/{name}/{label}", words, option[0] in ("--piece", "--layout"))
    base = sizes_of("scoop_skirt")[1]
    for option in (("--size", base), ("--piece", "belt"), ("--size", base, "--piece", "belt")):
        label = "_".join(option).replace("--", "")
        yield Job(f"draw/scoop_skirt/{label}", ("draw", "scoop_skirt", *option, "-o", "out"))


def _demo_and_help_jobs() -> Iterator[Job]:
    for name in BLENDED:
        yield Job(f"demo/{name}", ("demo", name, "out"), name == "scoop_skirt")
    yield Job("help/all", ("--help",), True)
    for command in (
        "demo", "show", "walk", "suggest", "blend", "revise", "why", "report", "draw", "print",
        "sheet", "begin", "convert",
    ):  # fmt: skip
        yield Job(f"help/{command}", (command, "--help"), True)


def _edit_jobs() -> Iterator[Job]:
    """The example of every edit on its demo set, and the edit file of every set that has one."""
    yield Job("change/help", ("change", "--help"), True)
    for kind in EDITS.values():
        words = ("change", kind.on, kind.word, *kind.example.split())
        yield Job(f"change/{kind.word}", words, True)
        yield Job(f"change/{kind.word}/about", ("change", "--about", kind.word), True)
        sizes, _ = sizes_of(kind.on)
        if not kind.load().every_size:
            some = ("--sizes", f"{sizes[0]},{sizes[-1]}", "--json")
            yield Job(f"change/{kind.word}_some", (*words, *some))
    for file in sorted(SETS.glob("*/edits.toml")):
        name = file.parent.name
        yield Job(f"apply/{name}", ("apply", name, f"{name}/edits.toml", "-o", "out"), True)
    yield Job("apply/missing", ("apply", "slant_trouser", "missing.toml"), True)
