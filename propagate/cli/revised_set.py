"""Write a set of all sizes that was changed, and tell of it; for every command that makes one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import next_lines, say_any_lines, say_json, say_lines
from propagate.cli.reading import headed_lines, tell_kept

if TYPE_CHECKING:
    from propagate.engine.review.finding import Finding
    from propagate.engine.revised import Revised
    from propagate.io.options import ReadOptions
    from propagate.io.report import ReadingReport, WritingReport

__all__ = ["form_of", "tell_set", "write_set"]


def form_of(out: str | None, onto: str | None) -> str:
    """Return the form of what is written, told from its name."""
    suffix = "" if out is None else Path(out).suffix.lower()
    form = {".dxf": "dxf", ".svg": "svg"}.get(suffix, "set")
    if onto is not None and form != "dxf":
        raise click.BadParameter("expected -o OUT.dxf beside it", param_hint="--onto")
    return form


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
    """Write a set folder with ``revised.json``, or a drawing.

    What is returned says of a drawing what was written, and of a folder that a set which was a DXF
    could not stay one; None where there is nothing to say.
    """
    from propagate.io.convert import has_drawing, write_style
    from propagate.io.folder import save
    from propagate.io.options import ReadOptions
    from propagate.io.report import ReportNotes, WritingReport
    from propagate.io.result_folder import REVISED_FILE, revised_bytes
    from propagate.report.revise_text import revised_plain

    if form == "set":
        plain = revised_plain(found, outlines=True)
        extra = {REVISED_FILE: revised_bytes(plain)} if found.changed else {}
        written = save(found.pattern, out, replace=replace, extra=extra, sources=sources)
        tell_kept(written)
        as_dxf = any(name.lower().endswith(".dxf") for name in written.files)
        if as_dxf or not has_drawing(found.pattern):
            return None
        notes = ReportNotes()
        notes.add(
            "warning",
            "the revised pieces would not read back from the set's DXF as they are, so the "
            "geometry is written as JSON; for a DXF: propagate convert",
        )
        return WritingReport("set", tuple(str(out / name) for name in written.files), notes.lines)
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


def tell_set(
    found: Revised,
    command: str,
    paths: tuple[str, str | None],
    reviews: tuple[Sequence[Finding], Sequence[Finding]],
    *,
    writing: WritingReport | None,
    reading: ReadingReport | None = None,
    as_json: bool,
) -> None:
    """Tell what changed, what followed, where it was written, and what looks like a mistake.

    Parameters
    ----------
    found : Revised
    command : str
        What was called.
    paths : (str, str or None)
        The set, and where it was written.
    reviews : (sequence of Finding, sequence of Finding)
        Of the set before, and what came with the change.
    writing, reading : report or None
        Of what was written, and of drawings that were read.
    as_json : bool
    """
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
    from propagate.report.review_text import review_short_lines
    from propagate.report.revise_text import revised_lines, revised_plain

    path, out = paths
    if as_json:
        plain: dict[str, Any] = {"command": command}
        if reading is not None:
            plain["changed"] = found.changed
        plain |= {"sews": found.sews, "written_to": out}
        if reading is not None:
            plain["reading"] = reading.plain()
            plain["writing"] = None if writing is None else writing.plain()
        say_json({**plain, **revised_plain(found), "review": [*reviews[0], *reviews[1]]})
        return
    word = "changed" if found.edits else "revised"
    say_any_lines(review_short_lines(reviews[0], found.pattern, path))
    say_any_lines(review_short_lines(reviews[1], found.pattern, out or path, f"the {word} set"))
    say_lines(revised_lines(found))
    lines = [] if reading is None else headed_lines(reading, "reading")
    lines += [] if writing is None else headed_lines(writing, "writing")
    if out is None:
        lines += ["", *wrap_sentence("Nothing was written; add -o FOLDER to write the set.")]
    elif writing is not None and writing.format != "set":
        files = [(out, f"the {word} pieces, all sizes")]
        lines += lay_heading("files") + lay_entries(files, widest=40, whole=True)
    else:
        files = [(out, f"the {word} set, all sizes")]
        if found.changed:
            files.append(("  revised.json", "what changed in each size, and why"))
        lines += lay_heading("files") + lay_entries(files, widest=40, whole=True)
        told = [piece.piece for record in found.records.values() for piece in record.pieces]
        if found.changed:
            lines += next_lines(out, told[0] if told else next(iter(found.pattern.pieces)))
    say_lines([*lines, "", *wrap_sentence(LIMITS)])
