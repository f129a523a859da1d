"""The page's tables: the walk, openings, girths, curves; and what led to every change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from propagate.engine import rows as record_rows
from propagate.engine.record import Change
from propagate.engine.rows import Check, OpeningRow
from propagate.pattern.titles import in_sentence, in_words, name_title, say_turn
from propagate.report.blend_text import edit_words
from propagate.report.check_words import difference_of_row, words_of
from propagate.report.page.joins import Join
from propagate.report.page.subject import Subject
from propagate.report.page.words import node_words
from propagate.report.units import drop_sign, subtract_figures
from propagate.values import dataclass

__all__ = ["causes_of_all", "curve_rows", "girth_rows", "opening_facts", "walk_rows", "WalkRow"]

_RANK = {"does not sew": 0, "look": 1, "sews": 2}
_SMALL_MM = 0.005


def say_degrees(value: float, decimals: int = 1) -> str:
    """Return an angle with its sign; none for nothing."""
    return drop_sign(f"{value:+.{decimals}f}") + "°"


@dataclass(frozen=True)
class WalkRow:
    """One check: texts for the eye and numbers to sort by."""

    kind: str
    name: str
    what: str
    first: str
    second: str
    ease: str
    difference: str
    allowed: str
    verdict: str
    rank: int
    by: Sequence[float]
    join: str = ""
    reached: bool = True
    cut_lines: str = ""
    to_do: str = ""


def walk_rows(subject: Subject, joins: Sequence[Join]) -> list[WalkRow]:
    """Return every check of the walk, failures first, then by the share of what is allowed."""
    reached: set[tuple[str, str]] | None = None  # of a set, which nothing was done to
    if (record := subject.record) is not None:
        held = (*record.seams, *record.bands, *record.corners)
        reached = {(str(row.kind), row.name) for row in held}
        reached |= {("opening", row.opening) for row in record.openings}
    ids = {(str(join.kind), join.name): join.id for join in joins}
    rows = []
    for check in subject.walked.checks:
        words = words_of(check.kind)
        if words.of_body:
            continue
        kind = words.of or check.kind
        # A layer of a pocket belongs to its opening; each zone of a band has its own.
        name = check.relation if check.kind == "opening" else check.name
        known = reached is None or (check.kind, name) in reached
        rows.append(_make_row(check, subject, ids.get((kind, name), ""), known))
    return sorted(rows, key=lambda row: (row.rank, -row.by[4]))


def _make_row(check: Check, subject: Subject, join: str, reached: bool) -> WalkRow:
    words, unit = words_of(check.kind), subject.unit
    cut = check.cut_line_difference
    off = abs(check.difference)
    # Of a corner the sum that is meant stands first, as what is meant does everywhere.
    sides = (check.second, check.first) if words.degrees else (check.first, check.second)
    mark = "°" if words.degrees else ""
    said = [f"{v:.1f}°" if mark else unit.length(v, 1) for v in sides]
    return WalkRow(
        kind=words.one,
        name=in_words(subject.pattern, check.name),
        what=in_words(subject.pattern, check.what),
        first=said[0],
        second=said[1],
        ease=unit.length(check.ease, 1) if check.ease else "",
        difference=f"{difference_of_row(check, unit, 1)}{mark}",
        allowed=f"{check.tolerance:.1f}°" if mark else unit.length(check.tolerance),
        verdict="look at it" if check.verdict == "look" else check.verdict,
        rank=_RANK[check.verdict],
        by=[round(v, 6) for v in (*sides, check.ease, off, off / max(check.tolerance, _SMALL_MM))],
        join=join,
        reached=reached,
        cut_lines="" if cut is None else unit.change(cut),
        to_do=words.to_do if check.verdict == "does not sew" else "",
    )


@dataclass(frozen=True)
class Facts:
    """A name and what is said of it."""

    id: str
    name: str
    pairs: Sequence[tuple[str, str]]
    row: OpeningRow


def opening_facts(subject: Subject) -> list[Facts]:
    """Tell how each opening lies now: its length, its swing, how far its end moved."""
    if subject.record is None:
        return []
    unit = subject.unit
    found: list[Facts] = []
    for row in subject.record.openings:
        before, now = unit.length(row.before_mm, 1), unit.length(row.after_mm, 1)
        pairs = [
            ("Size", row.size),
            ("Length before", f"{before} {unit.name}"),
            ("Length now", f"{now} {unit.name} ({subtract_figures(now, before)})"),
            ("Turned by", say_turn(row.swing_deg)),
            ("Its far end moved by", unit.said(row.moved_mm)),
        ]
        if abs(row.slid_mm) > _SMALL_MM:
            pairs.append(("Slid along the top by", unit.said(row.slid_mm)))
        gap = max(abs(row.across_gap_mm), abs(row.side_gap_mm))
        pairs.append(("Its ends lie off their lines by", f"{unit.length(gap, 1)} {unit.name}"))
        title = in_sentence(name_title(subject.pattern, row.opening))
        found.append(Facts(f"o{len(found)}", title, pairs, row))
    return found


@dataclass(frozen=True)
class GirthRow:
    """One girth: the body, the ease, the garment; and what it should be."""

    name: str
    where: str
    size: str
    wanted: str
    body: str
    ease: str
    found: str
    off: str
    verdict: str
    body_share: float
    whole_share: float


def girth_rows(subject: Subject) -> list[GirthRow]:
    """Return girths of the finished garment against the chart."""
    checks = subject.walked.of("girth")
    rows = {row.girth: row for row in subject.record.girths} if subject.record else {}
    largest = max((check.second for check in checks), default=1.0) or 1.0
    unit, told = subject.unit, []
    for check in checks:
        row, chart = rows.get(check.name), subject.pattern.relations.girths[check.name].chart
        body = subject.pattern.chart.get(chart or "", {}).get(subject.size)
        body = body if row is None else row.body_mm
        # One row, one measuring: the record has it from before the set was written and read again.
        found = check.second if row is None else row.found_mm
        told.append(
            GirthRow(
                name=in_words(subject.pattern, check.name),
                where=in_words(subject.pattern, check.what),
                size=row.size if row is not None else subject.size,
                wanted=unit.length(row.wanted_mm) if row is not None else "",
                body="" if body is None else unit.length(body),
                ease="" if body is None else unit.difference(body, found),
                found=unit.length(found),
                off=unit.difference(row.wanted_mm, found) if row is not None else "",
                verdict=_judge_girth(row, None if body is None else found - body, subject),
                body_share=100.0 * min(body or found, found) / largest,
                whole_share=100.0 * found / largest,
            )
        )
    return told


def _judge_girth(row: record_rows.GirthRow | None, ease: float | None, subject: Subject) -> str:
    if ease is not None and ease < 0:
        return "smaller than the body"
    if row is not None and subject.revised:
        return "as before" if row.ok else "changed: look at it"
    if row is not None:
        return "as wanted" if row.ok else "not as wanted"
    if subject.record is not None:
        return "as drawn"
    return "" if ease is None else "room for the body"


def curve_rows(subject: Subject) -> list[dict[str, str]]:
    """Return curves that were drawn anew: how fair they are."""
    if subject.record is None:
        return []
    unit = subject.unit

    def radius(mm: float | None) -> str:
        return "straight" if mm is None else unit.length(mm)

    return [
        {
            "edge": in_words(subject.pattern, row.edge),
            "join": say_degrees(row.join_deg, 2),
            "bends": f"{row.inflections} of {row.inflections_allowed}",
            "radius": radius(row.smallest_radius_mm),
            "parents": radius(row.parents_radius_mm),
            "verdict": "fair" if row.ok else "look at it",
        }
        for row in subject.record.fairness
    ]


@dataclass(frozen=True)
class Cause:
    """One change with all that it led to."""

    where: str
    what: str
    led_to: Sequence[Cause]

    @property
    def count(self) -> int:
        """How many changes it led to, near and far."""
        return sum(1 + cause.count for cause in self.led_to)


def causes_of_all(subject: Subject) -> list[Cause]:
    """Return trees of causes; usually one, that of the edit."""
    record = subject.record
    if record is None:
        return []
    known = {change.id for change in record.changes}
    below: dict[str | None, list[Change]] = {}
    for change in record.changes:
        key = change.cause if change.cause in known else None
        below.setdefault(key, []).append(change)
    return [_grow_tree(subject, change, below, frozenset()) for change in below.get(None, [])]


def _grow_tree(
    subject: Subject,
    change: Change,
    below: Mapping[str | None, Sequence[Change]],
    above: frozenset[str],
) -> Cause:
    path = above | {change.id}
    led_to = [
        _grow_tree(subject, c, below, path) for c in below.get(change.id, []) if c.id not in path
    ]
    what = in_words(subject.pattern, change.what)
    if change.cause is None and subject.result is not None:
        what = edit_words(subject.result)
    return Cause(node_words(subject.pattern, change.id), what, led_to)
