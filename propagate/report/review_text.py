"""What a review found, in words: in full for a walk, in short before an edit's result."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from propagate.counts import say_count
from propagate.engine.review.finding import Finding
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_words, where_in_words
from propagate.report.layout import lay_heading, wrap_sentence
from propagate.visible import shell_word

__all__ = ["review_lines", "review_short_lines", "review_words"]

_FIGURES = re.compile(r"\d+(\.\d+)?")
_FIRST = 3
"""Findings that are told before the result of an edit; a walk tells all."""


def review_words(findings: Sequence[Finding]) -> str:
    """Tell how many findings there are, for the first line of a walk; empty for none."""
    if not findings:
        return ""
    bad = sum(not finding.sews for finding in findings)
    words = say_count(len(findings), "likely mistake")
    return f"{words} in the set" + (f", {bad} of which WILL NOT SEW" if bad else "")


def review_lines(findings: Sequence[Finding], pattern: PatternSet | None = None) -> list[str]:
    """Tell every finding, what does not sew first; nothing for none.

    With the set names are said by its titles; what is to be typed in it stays.
    """
    if not findings:
        return []
    told = _tell_findings(_join_sizes(findings, pattern), pattern)
    return [*lay_heading("looks like a mistake in the set"), *told]


def review_short_lines(
    findings: Sequence[Finding], pattern: PatternSet, path: str, what: str = "the set"
) -> list[str]:
    """Tell the first findings of a set that is edited, and where to read all of them."""
    if not findings:
        return []
    told = _join_sizes(findings, pattern)
    lines = wrap_sentence(
        f"Before the result: {say_count(len(findings), 'likely mistake')} in {what}"
    )
    lines += _tell_findings(told[:_FIRST], pattern)
    if len(told) > _FIRST:
        lines += [f"  {len(told) - _FIRST} more: propagate walk {shell_word(path)}"]
    return [*lines, ""]


def _join_sizes(
    findings: Sequence[Finding], pattern: PatternSet | None
) -> list[tuple[Finding, list[str]]]:
    """Tell what strikes alike in several sizes, but for its figures, once; with the other sizes."""
    alike: dict[tuple[str, ...], tuple[Finding, list[str]]] = {}
    for finding in findings:
        where, sizes = finding.where, []
        for size in () if pattern is None else pattern.sizes:
            quoted = f"'{size}'"
            if quoted in where:
                where = where.replace(quoted, "")
                sizes.append(size)
        text = _FIGURES.sub("", finding.text) if sizes else finding.text
        key = (finding.rule, where, text, str(finding.sews))
        first, others = alike.setdefault(key, (finding, []))
        others += sizes if first is not finding else []
    same: dict[tuple[str, tuple[str, ...]], tuple[Finding, list[str]]] = {}
    for finding, others in alike.values():
        first, _ = same.setdefault((finding.text, tuple(others)), (finding, others))
        if first is not finding:  # it says the same of another place
            joined = replace(first, where=f"{first.where}; {finding.where}")
            same[finding.text, tuple(others)] = joined, others
    return list(same.values())


def _tell_findings(
    told: Sequence[tuple[Finding, Sequence[str]]], pattern: PatternSet | None
) -> list[str]:
    lines: list[str] = []
    for finding, others in told:
        verdict = "" if finding.sews else "WILL NOT SEW: "
        where, text = finding.where, finding.text
        if pattern is not None:
            of = finding.pieces[0] if len(set(finding.pieces)) == 1 else ""
            where, text = where_in_words(pattern, where, of), in_words(pattern, text, of)
        also = f" (and by other figures in size {', '.join(others)})" if others else ""
        lines += wrap_sentence(f"- {verdict}{where}{also}: {text}", 2, 2, clip=True)
    return lines
