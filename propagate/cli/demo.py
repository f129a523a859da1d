"""``propagate demo``: a demo set, its main job, and its pictures."""

from __future__ import annotations

from pathlib import Path
from typing import TypedDict

import click

from propagate.cli.app import LIMITS
from propagate.cli.draw import draw_all, lead_name
from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import tell_kept

__all__ = ["command"]


class _Keep(TypedDict):
    """What every writer is told."""

    replace: bool
    sources: list[str | Path]


@click.command("demo")
@click.argument("name", default="slant_trouser")
@click.argument("folder", metavar="[DIR]", default="propagate_demo")
@click.option("--replace", is_flag=True, help="Replace what an earlier run wrote.")
@unit_option
@json_option
def command(name: str, folder: str, replace: bool, unit: str, as_json: bool) -> int:
    """Copy demo set NAME into DIR, run its main job and draw the pictures.

    NAME is slant_trouser (taken when left out), scoop_skirt, lined_skirt, ferry_shirt,
    quay_jeans, concert_dress, market_bag, puddle_pinafore, workshop_gilet, whose
    geometry is a DXF with a rule file, or garden_apron, which is drawings to begin a set
    from; DIR is ./propagate_demo.
    """
    from propagate.demo import DRAWN_DEMO, MAIN_JOBS, demo_path, edit_files, revised_files
    from propagate.engine.edits.blend import Blend
    from propagate.engine.edits.level_blend import BlendLevels
    from propagate.engine.run import run
    from propagate.io.folder import load
    from propagate.io.output import check_files, check_folder, write_files
    from propagate.io.result_folder import save
    from propagate.report.blend_text import blend_lines
    from propagate.report.units import unit_of

    if name == DRAWN_DEMO:
        return _copy_drawings(Path(folder), replace=replace, as_json=as_json)
    pattern = load(demo_path(name))
    by_level = pattern.relations.blend is None
    result = run(pattern, (BlendLevels if by_level else Blend)(MAIN_JOBS[name]))
    base, made = Path(folder), result.record.size.replace("/", "-")
    _make_folder(base)
    places = {
        "set": base / name,
        "result": base / f"{name}_{made}",
        "pictures": base / f"{name}_{made}_pictures",
    }
    more = {"revised": revised_files(name), "edits": edit_files(name)}
    more = {kind: files for kind, files in more.items() if files}
    places |= {kind: base / f"{name}_{kind}" for kind in more}
    # All are refused before the first is written.
    keep: _Keep = {"replace": replace, "sources": [demo_path(name)]}
    check_folder(places["set"], **keep)
    check_folder(places["result"], **keep)
    pictures = [lead_name(result.pattern.pieces), *result.pattern.pieces]
    check_files(places["pictures"], [f"{name}.svg" for name in pictures], **keep)
    for kind, files in more.items():
        check_files(places[kind], files, **keep)
    for kind, files in more.items():
        write_files(places[kind], files, **keep)
    for kind, source in (("set", pattern), ("result", result)):
        tell_kept(save(source, places[kind], **keep))
    drawn = draw_all(result, places["pictures"], unit=unit, **keep)
    if as_json:
        said: dict[str, object] = {key: str(path) for key, path in places.items()}
        say_json({"command": "demo", "demo": name, "sews": result.sews, **said, "drawn": drawn})
        return 0 if result.sews else 1
    say_lines(blend_lines(result, unit_of(unit)))
    say_lines(_list_files(places, name, list(more.get("revised", ()))))
    return 0 if result.sews else 1


def _make_folder(folder: Path) -> None:
    from propagate.errors import OutputError

    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"'{folder}' cannot be made ({error.strerror}); choose another folder"
        ) from error


def _copy_drawings(base: Path, *, replace: bool, as_json: bool) -> int:
    """Copy the drawings of which no set is made yet, and say how one is begun."""
    from propagate.demo import DRAWN_DEMO, drawn_files
    from propagate.io.output import write_files
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
    from propagate.visible import shell_word

    _make_folder(base)
    place, files = base / f"{DRAWN_DEMO}_drawings", drawn_files()
    write_files(place, files, replace=replace, sources=[])
    if as_json:
        say_json({"command": "demo", "demo": DRAWN_DEMO, "drawings": str(place)})
        return 0
    own = shell_word(str(base / DRAWN_DEMO))
    drawings = [shell_word(str(place / name)) for name in files if name.endswith(".svg")]
    pairs = [(str(place), "a drawing for each size, and relations.toml: how it is sewn")]
    lines = lay_heading("files")[1:] + lay_entries(pairs, widest=44, whole=True)
    lines += [
        *lay_heading("begin the set, walk it, then change it"),
        *("  propagate begin \\", *(f"      {one} \\" for one in drawings)),
        f"      --relations {shell_word(str(place / 'relations.toml'))} \\",
        f"      -o {own}",
        f"  propagate walk {own} --all-sizes",
        f"  propagate change {own} \\",
        "      let-out edge=apron.hem by=30mm -o my_changed",
    ]
    say_lines([*lines, "", *wrap_sentence(LIMITS)])
    return 0


def _list_files(places: dict[str, Path], name: str, revised: list[str]) -> list[str]:
    from propagate.demo import MAIN_JOBS
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
    from propagate.visible import shell_word

    job = " ".join(f"--size {level}={size}" for level, size in MAIN_JOBS[name].items())
    pairs = [
        (str(places["set"]), "the set"),
        (str(places["result"]), "the result, with record.json and cut_lines.json"),
        (str(places["pictures"]), "changes.svg, and one SVG for every piece, at true scale"),
    ]
    if revised:
        pairs.append((str(places["revised"]), "revised drawings of its pieces, to receive"))
    if "edits" in places:
        pairs.append((str(places["edits"]), "edits of the set, to apply"))
    lines = lay_heading("files") + lay_entries(pairs, widest=44, whole=True)
    lines += lay_heading("the same by hand")
    own = shell_word(str(places["set"]))
    lines += [
        f"  propagate blend {own} \\",
        f"      {job} -o my_result",
        "  propagate draw my_result -o my_pictures",
        f"  propagate walk {own} --all-sizes",
    ]
    drawn = [file for file in revised if file.endswith(".dxf")]
    if drawn:
        lines += [
            f"  propagate revise {own} \\",
            f"      --from {shell_word(str(places['revised'] / drawn[-1]))} \\",
            "      -o my_revised",
        ]
    if "edits" in places:
        lines += [
            f"  propagate apply {own} \\",
            f"      {shell_word(str(places['edits'] / 'edits.toml'))} \\",
            "      -o my_changed",
        ]
    return [*lines, "", *wrap_sentence(LIMITS)]
