"""A walk in words: what does not sew first, then every check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from propagate.counts import say_count
from propagate.engine.review.finding import Finding
from propagate.engine.walk import Check, Walk
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, in_words, name_title, where_in_words
from propagate.report.check_words import (
    CHECKS,
    degrees_over,
    difference_of_row,
    kinds_counted,
    words_of,
)
from propagate.report.layout import Column, lay_heading, lay_table, wrap_sentence
from propagate.report.review_text import review_lines, review_words
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["walk_lines", "walk_plain", "walks_lines"]

_CUT_LINE_NOTE = (
    "Everything is matched on the seam line. 'cut lines' is what the two cut lines would "
    "have said; matching those is the classic mistake."
)
_VERDICT_WORDS = {"sews": "sews", "look": "look", "does not sew": "DOES NOT SEW"}
_RANK = {"does not sew": 0, "look": 1, "sews": 2}


def walk_lines(
    walk: Walk,
    unit: Unit = MILLIMETRES,
    findings: Sequence[Finding] = (),
    pattern: PatternSet | None = None,
) -> list[str]:
    """Describe one walk at 80 columns, what needs attention first.

    `findings` are those of a review of the set; with the set names are said by their titles.
    """
    walk = _title_walk(walk, pattern)
    lines = _first_lines([walk], f"size {walk.size}", findings, pattern)
    bad = sorted((c for c in walk.checks if c.verdict != "sews"), key=lambda c: _RANK[c.verdict])
    lines += lay_heading("look at this first") if bad else []
    for check in bad:
        lines += wrap_sentence(f"- {_say_check(check, unit)}", 2, 2, clip=True)
    for kind in _kinds_walked([walk]):
        checks = walk.of(kind)
        if checks:
            lines += lay_heading(_say_kind(kind, unit))
            lines += _lay_checks(kind, checks, unit)
            lines += [
                line
                for check in checks
                if check.meant
                for line in wrap_sentence(
                    f"{words_of(check.kind).called(check)}: {check.meant}", 2, 4
                )
            ]
    if any(check.cut_line_difference is not None for check in walk.checks):
        lines += ["", *wrap_sentence(_CUT_LINE_NOTE)]
    return lines


def walks_lines(
    walks: Sequence[Walk],
    unit: Unit = MILLIMETRES,
    findings: Sequence[Finding] = (),
    pattern: PatternSet | None = None,
) -> list[str]:
    """Describe the walks of several sizes: the worst size of every check; see `walk_lines`."""
    walks = [_title_walk(walk, pattern) for walk in walks]
    lines = _first_lines(walks, say_count(len(walks), "size"), findings, pattern)
    bad = _find_worst(walks)
    lines += lay_heading("look at this first") if bad else []
    for size, check in bad:
        lines += wrap_sentence(f"- size {size}: {_say_check(check, unit)}", 2, 2, clip=True)
    columns = [
        Column("worst of all sizes"),
        Column("difference", number=True),
        Column("in size"),
        Column("allowed", number=True),
        Column("verdict"),
        Column("cut lines", number=True),
    ]
    for kind in _kinds_walked(walks):
        found: dict[str, list[tuple[str, Check]]] = {}  # by name, each check with its size
        for walk in walks:
            for check in walk.of(kind) if not words_of(kind).of_body else ():
                found.setdefault(words_of(kind).called(check), []).append((walk.size, check))
        if not found:
            continue
        rows = []
        for name, sized in found.items():
            size, worst = max(sized, key=lambda pair: abs(pair[1].difference))
            rows.append(
                [
                    name,
                    _say_difference(worst, unit),
                    size,
                    _say_amount(worst, worst.tolerance, unit),
                    _VERDICT_WORDS[worst.verdict],
                    _cut_lines(worst, unit),
                ]
            )
        lines += lay_heading(_say_kind(kind, unit))
        told = slice(None if words_of(kind).both_lines else -1)
        lines += lay_table(columns[told], [row[told] for row in rows])
    lines += _girths_of_sizes(walks, unit)
    return [*lines, "", *wrap_sentence(_CUT_LINE_NOTE)]


def walk_plain(walk: Walk) -> dict[str, Any]:
    """Return one walk as plain values."""
    return {
        "set": walk.set_name,
        "size": walk.size,
        "sews": walk.sews,
        "checks": list(walk.checks),
    }


# ------------------------------------------------------------------------------- pieces


def _title_walk(walk: Walk, pattern: PatternSet | None) -> Walk:
    """Say every name in the checks of a walk by its title."""
    if pattern is None:
        return walk
    checks = []
    for check in walk.checks:
        name = in_words(pattern, check.name)
        if check.name in pattern.pieces and check.name not in pattern.relations.seams:
            name = where_in_words(pattern, check.name)  # it is the piece that is checked
        elif check.name.isidentifier():
            name = in_sentence(name_title(pattern, check.name))
        checks.append(
            replace(
                check,
                name=name,
                what=in_words(pattern, check.what),
                meant=check.meant and in_words(pattern, check.meant),
                sides=(in_words(pattern, check.sides[0]), in_words(pattern, check.sides[1])),
            )
        )
    return replace(walk, checks=tuple(checks))


def _kinds_walked(walks: Sequence[Walk]) -> list[str]:
    """Return kinds of what may have been walked, in the order in which they are told."""
    found = {check.kind for walk in walks for check in walk.checks}
    return [*CHECKS, *sorted(found.difference(CHECKS))]


def _say_kind(kind: str, unit: Unit) -> str:
    words = words_of(kind)
    return words.title if words.degrees else f"{words.title} ({unit.name})"


def _first_lines(
    walks: Sequence[Walk], sizes: str, findings: Sequence[Finding], pattern: PatternSet | None
) -> list[str]:
    """Tell what came of it, what the checks are that this counts, what strikes in the set."""
    checks = [check for walk in walks for check in walk.checks]
    bad = sum(check.verdict == "does not sew" for check in checks)
    look = sum(check.verdict == "look" for check in checks)
    if bad:
        said = f"{bad} of {say_count(len(checks), 'check')} {'DOES' if bad == 1 else 'DO'} NOT SEW"
    elif not checks:
        said = (
            "nothing was walked: the set says of no edge what it is sewn to ('propagate suggest "
            "SET --ask' asks it)"
        )
    elif any(not finding.sews for finding in findings):
        said = f"all that was walked fits ({say_count(len(checks), 'check')})"
    else:
        said = f"everything sews together ({say_count(len(checks), 'check')})"
    said = f"{said}, {look} to look at" if look else said
    said = f"{said}; {review_words(findings)}" if findings else said
    lines = wrap_sentence(f"{walks[0].set_name}, {sizes}: {said}", clip=True)
    kinds = [check.kind for check in checks]
    lines += wrap_sentence(kinds_counted(kinds), 2, 2) if kinds else []
    return lines + review_lines(findings, pattern)


def _find_worst(walks: Sequence[Walk]) -> list[tuple[str, Check]]:
    """What does not sew in several sizes: each in the size in which it is farthest off."""
    found: dict[tuple[str, ...], tuple[str, Check]] = {}
    for walk in walks:
        for check in walk.checks:
            if check.verdict == "does not sew":
                key = (check.kind, check.name, check.what)
                before = found.setdefault(key, (walk.size, check))
                found[key] = max(before, (walk.size, check), key=lambda one: abs(one[1].difference))
    return list(found.values())


def _say_check(check: Check, unit: Unit) -> str:
    words = words_of(check.kind)
    if words.of_body:
        return (
            f"{check.name}: the garment measures {unit.said(check.second)}, the body "
            f"{unit.said(check.first)}: smaller than the body by {unit.said(-check.ease)}; "
            f"{words.to_do}"
        )
    fails = check.verdict == "does not sew"
    return (
        f"{words.one} {check.name}: {'does not sew' if fails else 'sews, look at it'}: off by "
        f"{_say_difference(check, unit)}{_unit_symbol(check, unit)}, allowed "
        f"{_say_amount(check, check.tolerance, unit)}{_unit_symbol(check, unit)} ({check.what})"
        f"{f'; {words.to_do}' if fails else ''}"
    )


def _unit_symbol(check: Check, unit: Unit) -> str:
    return "°" if words_of(check.kind).degrees else f" {unit.name}"


def _say_amount(check: Check, value: float, unit: Unit) -> str:
    return f"{value:.1f}" if words_of(check.kind).degrees else unit.length(value)


def _say_difference(check: Check, unit: Unit) -> str:
    if words_of(check.kind).degrees:
        return degrees_over(check)
    return unit.small(check.difference)


def _cut_lines(check: Check, unit: Unit) -> str:
    return "" if check.cut_line_difference is None else unit.change(check.cut_line_difference)


def _lay_checks(kind: str, checks: Sequence[Check], unit: Unit) -> list[str]:
    words = words_of(kind)
    if words.of_body:
        columns = [
            Column(""),
            *(Column(head, number=True) for head in (*words.sides, "ease")),
        ]
        rows = []
        for check in checks:
            first, second = unit.length(check.first), unit.length(check.second)
            ease = unit.difference(check.first, check.second)
            if not check.ease and check.first == check.second:
                first = ease = ""  # the set tells of no body
            rows.append([check.name, first, second, ease])
        return lay_table(columns, rows)
    columns = [
        Column(""),
        *(Column(head, number=True) for head in (*words.sides, "ease", "difference", "allowed")),
        Column("verdict"),
        Column("cut lines", number=True),
    ]
    rows = [
        [
            words_of(check.kind).called(check),
            unit.length(check.first),
            unit.length(check.second),
            unit.length(check.ease) if check.ease else "",
            difference_of_row(check, unit),
            _say_amount(check, check.tolerance, unit),
            _VERDICT_WORDS[check.verdict],
            _cut_lines(check, unit),
        ]
        for check in checks
    ]
    if words.degrees:
        columns = [Column(""), Column("sum", number=True), *columns[4:7]]
        rows = [
            [row[0], f"{check.first:.1f}", *row[4:7]]
            for row, check in zip(rows, checks, strict=True)
        ]
    elif not words.both_lines:
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    kept = [i for i in range(len(columns)) if i == 0 or any(row[i] for row in rows)]
    return lay_table([columns[i] for i in kept], [[row[i] for i in kept] for row in rows])


def _girths_of_sizes(walks: Sequence[Walk], unit: Unit) -> list[str]:
    names = [check.name for check in walks[0].of("girth")]
    if not names:
        return []
    columns = [Column("size"), *(Column(name, number=True) for name in names)]
    rows = [
        [walk.size, *(unit.length(check.second) for check in walk.of("girth"))] for walk in walks
    ]
    return lay_heading(f"girths of the finished garment ({unit.name})") + lay_table(columns, rows)
