"""A blend in words: what needs attention first, what changed, whether it sews."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from propagate.engine.record import EdgeChange, PieceChange, Record, as_plain
from propagate.engine.rows import TruedCorner
from propagate.engine.run import Result
from propagate.pattern.between import BetweenSize
from propagate.pattern.chart import ChosenSizes
from propagate.pattern.titles import (
    in_sentence,
    in_words,
    name_title,
    piece_title,
    say_turn,
)
from propagate.report.check_words import checks_counted, reached_kinds, words_of
from propagate.report.layout import Column, lay_entries, lay_heading, lay_table, wrap_sentence
from propagate.report.lead_sentence import lead_sentence
from propagate.report.notices import list_warnings
from propagate.report.units import MILLIMETRES, Unit, add_figures, subtract_figures

__all__ = [
    "between_words",
    "blend_lines",
    "blend_plain",
    "body_lines",
    "corner_figures",
    "edit_words",
    "list_failures",
    "length_cells",
    "paper_cells",
    "sews_words",
    "size_taken",
]

_SMALL_MM = 0.005
"""Paper that is added or trimmed below this is not worth a number."""


def blend_lines(result: Result, unit: Unit = MILLIMETRES) -> list[str]:
    """Describe a blend at 80 columns."""
    record = result.record
    lines = wrap_sentence(lead_sentence(result, unit), clip=True)
    lines += wrap_sentence(
        f"{record.set_name}: {edit_words(result)}; the result is size {record.size}", clip=True
    )
    pattern = result.pattern
    told = [in_words(pattern, text) for text in list_failures(record, unit)]
    told += [f"{one.where}: {one.text}" for one in list_warnings(pattern, record, typed=True)]
    lines += lay_heading("look at this first") if told else []
    lines += [line for text in told for line in wrap_sentence(f"- {text}", 2, 2, clip=True)]
    lines += _changed_lines(result, unit)
    lines += _sews_lines(result, unit)
    return lines


def blend_plain(result: Result, chosen: ChosenSizes | None, out: str | None) -> dict[str, object]:
    """What came of a blend, where it was written, and the sizes of a body, as plain data."""
    record = as_plain(result.record)
    for piece in record["pieces"]:
        del piece["before"]  # the old outlines are in the result's record
    return {
        "sews": result.sews,
        "checks": Counter(reached_kinds(result.record)),
        "written_to": out,
        "body": [] if chosen is None else list(chosen.choices),
        "record": record,
    }


def body_lines(chosen: ChosenSizes, unit: Unit = MILLIMETRES) -> list[str]:
    """Tell which size each body measurement took, and what is left over."""
    rows = []
    for choice in chosen.choices:
        also = f"as near as {choice.also}; the larger was taken" if choice.also else ""
        if choice.between is not None:
            size = choice.between
            end = size.first if size.share < 0.0 else size.second
            also = (
                f"{size.beyond:.4g} of a step beyond {end}"
                if size.beyond
                else f"{size.share:.4g} from {size.first} to {size.second}"
            )
        rows.append(
            [
                choice.measurement,
                unit.length(choice.body_mm),
                choice.size,
                unit.length(choice.chart_mm),
                subtract_figures(unit.length(choice.body_mm), unit.length(choice.chart_mm)),
                also,
            ]
        )
    columns = [
        Column("measured"),
        Column("body", number=True),
        Column("size"),
        Column("made for", number=True),
        Column("left over", number=True),
        Column(""),
    ]
    lines = [f"Sizes by the chart ({unit.name})", *lay_table(columns, rows)]
    for text in chosen.warnings:
        lines += wrap_sentence(f"- {text}", 2, 2, clip=True)
    return [*lines, ""]


def list_failures(record: Record, unit: Unit = MILLIMETRES) -> list[str]:
    """Name what does not sew together, worst first, then corners that are off, and what to do."""
    rows = [row for row in record.checks if row.verdict == "does not sew"]
    rows.sort(key=lambda row: -abs(row.difference))
    lines = [
        f"{words_of(row.kind).one} {row.name} DOES NOT SEW: off by {unit.small(row.difference)} "
        f"{unit.name}, allowed {unit.length(row.tolerance)} ({row.what}); "
        f"{words_of(row.kind).to_do}"
        for row in rows
    ]
    known = {row.name for row in record.top_corners if not row.ok}
    lines += [
        f"corner of {row.name}: {row.what}: {abs(row.difference):.1f}° off a straight "
        f"line across the seam; {words_of(row.kind).to_do}"
        for row in record.walked_corners
        if row.verdict == "does not sew" and row.name not in known
    ]
    return lines


def edit_words(result: Result) -> str:
    """Return the edit with every option that differs from the default."""
    edit, plan = result.record.options, result.pattern.relations.blend
    if edit.kind != "blend":
        links = result.record.changes
        what = next((link.what for link in links if link.cause is None), "edited")
        return in_words(result.pattern, what)
    sizes = edit.sizes
    order = [plan.upper, plan.lower] if plan else []
    levels = [*(level for level in order if level in sizes), *(n for n in sizes if n not in order)]
    said = ", ".join(f"{level} of size {sizes[level]}" for level in levels)
    for name, row in edit.between.items():
        said += f"; {name} lies {between_words(name, row)}"
    options = []
    if edit.follow == "length":
        options.append("the other side of a seam keeps its own shape")
    if edit.top == "traced":
        options.append("the top traced as drawn")
    if edit.rise is not None and edit.rise != "upper":
        options.append(f"rise: {_length_or_word(edit.rise)}")
    if edit.pocket not in (None, "upper"):
        options.append(f"pocket of size {edit.pocket_size}")
    if edit.hold is not None:
        options.append(f"hold: {_length_or_word(edit.hold)}")
    return in_words(result.pattern, said + (f" ({', '.join(options)})" if options else ""))


def between_words(name: str, row: Mapping[str, Any]) -> str:
    """Tell where a size lies that nobody drew, from its row of the record."""
    return BetweenSize(name, row["first"], row["second"], row["share"]).words


def _length_or_word(value: str | float) -> str:
    return value if isinstance(value, str) else f"{value:g} mm"


def size_taken(result: Result, piece: str) -> str:
    """Return size that a piece of the result was taken from; that of the rest when not reached."""
    for change in result.record.pieces:
        if change.piece == piece:
            return change.size
    plan = result.pattern.relations.blend
    record = result.record
    return record.options.sizes.get(plan.lower, record.size) if plan else record.size


# ------------------------------------------------------------------------ what changed


def _changed_lines(result: Result, unit: Unit) -> list[str]:
    record = result.record
    changed = [piece for piece in record.pieces if piece.status != "same"]
    if not changed:
        made = "that of the size between" if record.options.between else "as drawn"
        return ["", *wrap_sentence(f"Nothing changed: every piece is {made}.")]
    rows: list[list[str]] = []
    for piece in changed:
        head = [piece_title(result.pattern, piece.piece), " + ".join((piece.size, *piece.also))]
        for edge in (edge for edge in piece.edges if edge.status != "same"):
            title = name_title(result.pattern, edge.edge, piece.piece)
            cells = length_cells(edge, unit, moved=edge.status == "moved")
            rows.append([*head, title, *cells, *paper_cells(edge, unit, _SMALL_MM)])
            head = ["", ""]
    columns = [
        Column("piece"),
        Column("from"),
        Column("edge"),
        *(Column(head, number=True) for head in ("before", "now", "change")),
        *(Column(head, number=True) for head in ("tape on", "trim")),
    ]
    lines = lay_heading(f"what changed ({unit.name}), against the size each piece was taken from")
    return lines + lay_table(columns, rows) + _as_drawn(result, changed)


def length_cells(edge: EdgeChange, unit: Unit, *, moved: bool) -> list[str]:
    """Give the length of an edge before and now, and the change as it is printed."""
    before, now = unit.length(edge.before_mm), unit.length(edge.after_mm)
    return [before, now, "moved" if moved else subtract_figures(now, before)]


def paper_cells(edge: EdgeChange, unit: Unit, least_mm: float) -> list[str]:
    """Tell how far paper is taped on at an edge, and trimmed; nothing for less than some mm."""
    amounts = (edge.added_mm, edge.trimmed_mm)
    return [unit.length(mm) if mm > least_mm else "" for mm in amounts]


def _as_drawn(result: Result, changed: Sequence[PieceChange]) -> list[str]:
    """Return pieces that are taken as drawn, by the size that they are taken from."""
    names = {piece.piece for piece in changed}
    groups: dict[str, list[str]] = {}
    for name in result.pattern.pieces:
        if name not in names:
            title = in_sentence(piece_title(result.pattern, name))
            groups.setdefault(size_taken(result, name), []).append(title)
    lines = []
    for size, pieces in groups.items():
        between = "; " if any("," in title for title in pieces) else ", "
        lines += wrap_sentence(f"as drawn, of size {size}: {between.join(pieces)}", 2, 2, clip=True)
    return lines


# ----------------------------------------------------------------------- does it sew


def _sews_lines(result: Result, unit: Unit) -> list[str]:
    record, pattern = result.record, result.pattern
    pairs = [("checks", sews_words([record], unit))]
    pairs += _openings_words(record, unit)
    for girth in record.girths:
        text = f"{unit.said(girth.found_mm)} finished; "
        text += f"size {girth.size} has {unit.length(girth.wanted_mm)}"
        if girth.body_mm is not None and girth.ease_mm is not None:
            ease = unit.difference(girth.body_mm, girth.found_mm)
            text += f"; the body {unit.length(girth.body_mm)} and {ease} ease"
        pairs.append((f"{girth.girth} girth", text))
    if (match := record.match) is not None:
        text = (
            "its two sides differed by "
            f"{unit.length(abs(match.apart_before_mm), 1)} {unit.name} before they were matched; "
            f"their shapes differ by {unit.said(match.largest_deviation_mm)} at most"
        )
        pairs.append((match.seam, text))
    for row in record.top_corners:
        text = (
            f"{row.first:.1f}° + {row.second:.1f}° = "
            f"{add_figures(f'{row.first:.1f}', f'{row.second:.1f}')}° at the top of {row.name}, "
            f"{row.wanted_sum:.1f}° in the size of the top"
        )
        pairs.append(("corners", text))
    pairs += [
        (f"{row.name} trued", f"{row.what}: {corner_figures(row, unit)}")
        for row in record.trued_corners
    ]
    unfair = [curve.edge for curve in record.fairness if not curve.ok]
    drawn = len(record.fairness)
    if unfair:
        pairs.append(("curves", f"not fair: {', '.join(unfair)}"))
    elif drawn:
        said = f"all {drawn} that were drawn anew are fair and run on smoothly"
        if drawn == 1:
            said = "the one that was drawn anew is fair and runs on smoothly"
        pairs.append(("curves", said))
    return lay_heading("does it sew") + lay_entries(
        [(in_words(pattern, name), in_words(pattern, text)) for name, text in pairs]
    )


def sews_words(records: Sequence[Record], unit: Unit) -> str:
    """Tell how many checks a change reached, of what they are, and what came of them."""
    rows = [row for record in records for row in record.checks]
    kinds = [kind for record in records for kind in reached_kinds(record)]
    if not kinds:
        return "no check was reached by the change"
    bad = sum(row.verdict == "does not sew" for row in rows)
    worst = max((abs(row.difference) for row in rows), default=0.0)
    verdict = (
        "all sew together" if not bad else f"{bad} {'DOES' if bad == 1 else 'DO'} NOT SEW TOGETHER"
    )
    largest = f"the largest difference is {unit.length(worst, 2)} {unit.name}"
    return f"{checks_counted(kinds)}: {verdict}; {largest}"


def corner_figures(row: TruedCorner, unit: Unit) -> str:
    """Say ``before 184.2°, now 180.0°; the lines moved by 0.55 mm at most, ...``."""
    return (
        f"before {row.before_deg:.1f}°, now {row.after_deg:.1f}°; the lines moved by "
        f"{unit.length(row.shift_mm, 1)} {unit.name} at most, within {unit.said(row.over_mm)} of "
        "the corner"
    )


def _openings_words(record: Record, unit: Unit) -> list[tuple[str, str]]:
    found = []
    for row in record.openings:
        text = (
            f"{unit.said(row.after_mm)} long ({unit.change(row.difference_mm, 2)}), turned "
            f"{say_turn(row.swing_deg)}, which moves its end by {unit.said(row.moved_mm)}"
        )
        if abs(row.slid_mm) > _SMALL_MM:
            text += f"; slid along the top by {unit.said(row.slid_mm)}"
        found.append((row.opening, text))
    return found
