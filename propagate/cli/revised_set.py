"""Write a set of all sizes that was changed, and tell of it; for every command that makes one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import next_lines, say
from propagate.cli.reading import reading_lines, tell_kept

if TYPE_CHECKING:
    from propagate.engine.revised import Revised
    from propagate.io.options import ReadOptions
    from propagate.io.report import ReadingReport, WritingReport

__all__ = ["check_set", "form_of", "tell_set", "write_set"]


def form_of(out: str | None, onto: str | None) -> str:
    """Return the form of what is written, told from its name."""
    suffix = "" if out is None else Path(out).suffix.lower()
    form = {".dxf": "dxf", ".svg": "svg"}.get(suffix, "set")
    if onto is not None and form != "dxf":
        raise click.BadParameter("expected -o OUT.dxf beside it", param_hint="--onto")
    return form


def check_set(found: Revised) -> None:
    """Refuse a set that could not be loaded again."""
    from propagate.errors import InvalidSet
    from propagate.pattern.validate import find_problems

    wrong = find_problems(found.pattern) if found.changed else []
    if wrong:
        raise InvalidSet(found.pattern.name, wrong)


def write_set(
    found: Revised,
    out: Path,
    form: str,
    sources: list[Path],
    *,
    onto: str | None = None,
    wishes: ReadOptions | None = None,
    replace: bool = False,
) -> WritingReport | None:
    """Write a set folder with ``revised.json``, or a drawing."""
    from propagate.io.convert import has_drawing, write_style
    from propagate.io.folder import save
    from propagate.io.options import ReadOptions
    from propagate.io.result_folder import REVISED_FILE, revised_bytes
    from propagate.report.revise_text import revised_plain

    if form == "set":
        plain = revised_plain(found, outlines=True)
        extra = {REVISED_FILE: revised_bytes(plain)} if found.changed else {}
        written = save(found.pattern, out, replace=replace, extra=extra, sources=sources)
        tell_kept(written)
        return _kept_in_dxf(found, out, written.files)
    if form == "dxf" and (onto is not None or has_drawing(found.pattern)):
        form = "dxf-as-read"
    return write_style(
        found.pattern,
        out,
        form,
        replace=replace,
        onto=None if onto is None else Path(onto),
        wishes=ReadOptions() if wishes is None else wishes,
        sources=sources,
    )


def _kept_in_dxf(found: Revised, out: Path, names: tuple[str, ...]) -> WritingReport | None:
    """Say when a set that was a DXF could not stay one; None where there is nothing to say."""
    from propagate.io.convert import has_drawing
    from propagate.io.report import ReportNotes, WritingReport

    if not has_drawing(found.pattern) or any(name.lower().endswith(".dxf") for name in names):
        return None
    notes = ReportNotes()
    notes.add(
        "warning",
        "the revised pieces would not read back from the set's DXF as they are, so the geometry "
        "is written as JSON; for a DXF: propagate convert",
    )
    return WritingReport("set", tuple(str(out / name) for name in names), notes.lines)


def tell_set(
    found: Revised,
    writing: WritingReport | None,
    out: str | None,
    reading: ReadingReport | None = None,
) -> None:
    """Tell what changed, what followed, and where it was written."""
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
    from propagate.report.revise_text import revised_lines

    word = "changed" if found.edits else "revised"
    say(revised_lines(found))
    lines = []
    if reading is not None and reading.lines:
        lines += [*lay_heading(f"reading the {reading.format}"), *reading_lines(reading)]
    if writing is not None and writing.lines:
        lines += [*lay_heading(f"writing the {writing.format}"), *reading_lines(writing)]
    if out is None:
        lines += ["", *wrap_sentence("Nothing was written; add -o FOLDER to write the set.")]
    elif writing is not None and writing.format != "set":
        lines += lay_heading("files") + lay_entries(
            [(out, f"the {word} pieces, all sizes")], widest=40, whole=True
        )
    else:
        files = [
            (out, f"the {word} set, all sizes"),
            ("  revised.json", "what changed in each size, and why"),
        ]
        lines += lay_heading("files") + lay_entries(
            files[: 2 if found.changed else 1], widest=40, whole=True
        )
        told = [piece.piece for record in found.records.values() for piece in record.pieces]
        if found.changed:
            lines += next_lines(out, told[0] if told else next(iter(found.pattern.pieces)))
    say([*lines, "", *wrap_sentence(LIMITS)])
