"""Put the report page together."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from propagate.engine.record import Record
from propagate.engine.revised import Revised
from propagate.engine.run import Result
from propagate.errors import EditError
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import name_title
from propagate.report.blend_text import edit_words
from propagate.report.check_words import checks_counted
from propagate.report.lead_sentence import lead_sentence
from propagate.report.notices import (
    changed_girths,
    list_warnings,
    notices_of,
    pieces_of_girth,
    say_notice_of,
)
from propagate.report.page.drawn import write_scene
from propagate.report.page.graph import graph_of
from propagate.report.page.joins import Join, joins_of, run_of_side
from propagate.report.page.lead import MOST_CARDS, lead_cards
from propagate.report.page.pieces import PieceView, labels_of, piece_view
from propagate.report.page.render import render_page
from propagate.report.page.subject import STATUS_WORDS, Subject, subject_of
from propagate.report.page.swing import STEP_WORDS, swing_steps
from propagate.report.page.tables import (
    WalkRow,
    causes_of_all,
    curve_rows,
    girth_rows,
    opening_facts,
    walk_rows,
)
from propagate.report.page.words import clean_text, json_text
from propagate.report.scene.items import Item, Role, Scene
from propagate.report.scene.looks import legend_of
from propagate.report.units import unit_of

__all__ = ["report_page"]

_SHOWN = {"seam": "the seam", "band": "the band", "pocket": "the pocket"}
_MOST_ALIKE = 3
"""So many alike notices stand by themselves; more are told together."""
_SAMPLE_MM = (16.0, 4.0)
_MM_PX = 2.6
"""Pixels for 1 mm of a picture, as in the style sheet."""
_FIGURES_AND_NAMES = re.compile(r"\(.*\)|'[^']*'|\b\w+[./][^\W\d][\w/]*|[-+]?\d[\d.]*")
"""What texts that say the same may differ by."""
_EXTENT_PX = 640.0
"""Of the largest drawing where there is no script to fit it."""


def report_page(
    source: PatternSet | Result,
    *,
    size: str | None = None,
    unit: str = "mm",
    records: Mapping[str, Record] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> str:
    """Return one self-contained HTML page of a result, or of a set in one size.

    Parameters
    ----------
    source : PatternSet or Result
        A result is shown with what changed and why; a set with its pieces and its walk.
    size : str or None
        Size of a set; None takes the base size.
    unit : "mm" or "in"
        Unit of the lengths that are written.
    records : mapping of size to Record, or None
        Of a revised set, the records of all its sizes: girths that changed are told of each.
    progress : callable or None
        Told after every piece how many of how many are done.

    Raises
    ------
    EditError
        The set has no pieces.
    UnknownName
        For a size that the set does not have.
    """
    subject = subject_of(source, size, unit_of(unit), records)
    if not subject.pattern.pieces:
        raise EditError(
            f"set '{subject.pattern.name}' has no pieces, so there is nothing to report; "
            "add pieces to its set.toml"
        )
    joins = joins_of(subject)
    pieces = []
    for name in subject.pattern.pieces:
        told = notices_of(subject.result, name) if subject.result is not None else []
        said = [say_notice_of(subject.pattern, name, notice) for notice in told]
        pieces.append(piece_view(subject, name, said))
        if progress is not None:
            progress(len(pieces), len(subject.pattern.pieces))
    rows = walk_rows(subject, joins)
    notices = _list_notices(subject, rows, pieces, joins)
    views = {view.name: view for view in pieces}
    openings = [(facts, swing_steps(subject, facts.row, views)) for facts in opening_facts(subject)]
    cards = lead_cards(subject, pieces)
    scale = _EXTENT_PX / max(max(view.view.wide, view.view.tall) for view in pieces)
    result: Result | None = subject.result
    every: Result | Revised | None = result
    if subject.revised:  # told in all its sizes, not in the one shown alone
        every = Revised(subject.pattern, (), subject.records)
    return render_page(
        set_name=subject.pattern.name,
        size=subject.size,
        edit=edit_words(result) if result is not None else "",
        lead_said="" if every is None else lead_sentence(every, subject.unit),
        cards=cards,
        most_cards=MOST_CARDS,
        unit=subject.unit.name,
        is_result=result is not None,
        is_revised=subject.revised,
        verdict={
            "bad": sum(row.rank == 0 for row in rows),
            "look": sum(not notice["grave"] for group in notices for notice in group),
            "all": len(subject.walked.checks),
        },
        counted_checks=checks_counted(check.kind for check in subject.walked.checks),
        notices=notices,
        most_alike=_MOST_ALIKE,
        counts=Counter(view.state for view in pieces),
        graph=graph_of(subject, joins),
        joins=joins,
        joined={
            view.name: [join for join in joins if view.name in (*join.lead, *join.follow)]
            for view in pieces
        },
        pieces=pieces,
        labels={view.id: labels_of(view, scale) for view in pieces},
        lead_legend=_make_legend(item for card in cards for item in card.scene.items),
        piece_legend=_make_legend(item for view in pieces for item in view.scene.items),
        swing_legend=_make_legend(
            (item for _, steps in openings for step in steps for item in step.scene.items),
            STEP_WORDS,
        ),
        scale=scale,
        rows=rows,
        openings=openings,
        girths=girth_rows(subject),
        curves=curve_rows(subject),
        causes_tree=causes_of_all(subject),
        status_words=STATUS_WORDS,
        data=json_text(_collect_data(subject, joins, pieces)),
    )


def _make_legend(
    items: Iterable[Item], words: Mapping[Role, str] | None = None
) -> list[dict[str, Any]]:
    """Make samples of the lines that a drawing holds, as wide and dashed as there."""
    wide, tall = _SAMPLE_MM
    return [
        {
            "role": entry.role.value,
            "words": entry.words,
            "sample": write_scene(entry.sample),
            "box": f"-1 {-tall / 2:g} {wide + 2:g} {tall:g}",
            "wide": round((wide + 2) * _MM_PX),
            "tall": round(tall * _MM_PX),
        }
        for entry in legend_of(Scene(tuple(items)).roles, wide, tall * 0.8, words)
    ]


def _list_notices(
    subject: Subject, rows: Sequence[WalkRow], pieces: Sequence[PieceView], joins: Sequence[Join]
) -> list[list[dict[str, Any]]]:
    """Tell what to look at: what does not sew first, then warnings, each with its pieces.

    Those that say the same but for their figures and names stand together.
    """
    pattern = subject.pattern
    ids = {join.name: join.id for join in joins}
    kinds = {join.id: _SHOWN.get(join.kind, "it") for join in joins}

    def notice(
        where: str,
        text: str,
        join: str = "",
        on: Sequence[PieceView] = (),
        *,
        grave: bool = False,
        said: str = "",
    ) -> dict[str, Any]:
        told = {"where": where, "text": text, "join": join, "kind": kinds.get(join, "")}
        told["alike"] = _FIGURES_AND_NAMES.sub("", said or text)
        return {**told, "grave": grave, "pieces": [(view.id, view.title) for view in on]}

    walked = [
        notice(
            f"{row.kind} {row.name}",
            "; ".join(
                [f"off by {row.difference}, allowed {row.allowed} ({row.what})"]
                + ([row.to_do] if row.to_do else [])
            ),
            row.join,
            grave=row.rank == 0,
        )
        for row in rows
        if row.rank < 2
    ]
    warned = []
    for told in list_warnings(pattern, subject.record) if subject.record is not None else []:
        on = [view for view in pieces if view.name in told.places]
        join = next((ids[place] for place in told.places if place in ids), "")
        warned.append(notice(told.where, told.text, join, on, said=told.said))
    for girth in changed_girths(subject.records, subject.unit):
        measured = pieces_of_girth(pattern, girth.where)
        on = [view for view in pieces if view.name in measured]
        warned.append(notice(f"{name_title(pattern, girth.where)} girth", girth.text, on=on))
    grave = [found for found in walked if found["grave"]]
    groups: dict[tuple[bool, str], list[dict[str, Any]]] = {}
    for found in (*grave, *warned, *(found for found in walked if not found["grave"])):
        groups.setdefault((found["grave"], found["alike"]), []).append(found)
    return list(groups.values())


def _collect_data(
    subject: Subject, joins: Sequence[Join], pieces: Sequence[PieceView]
) -> dict[str, Any]:
    """Tell what the script needs beside the drawings: names, lengths and runs."""
    return {
        "unit": subject.unit.name,
        "mm": subject.unit.mm,
        "decimals": subject.unit.decimals,
        "pieces": {
            view.id: {
                "title": clean_text(view.title),
                "box": [float(v) for v in view.view.box.split()],
                "edges": [clean_text(edge.title) for edge in view.edges],
            }
            for view in pieces
        },
        "joins": {join.id: _join_data(subject, join) for join in joins},
    }


def _join_data(subject: Subject, join: Join) -> dict[str, Any]:
    data: dict[str, Any] = {
        "name": clean_text(join.title),
        "group": join.group,
        "pieces": [subject.ids[name] for name in dict.fromkeys((*join.lead, *join.follow))],
    }
    if join.first is not None and join.second is not None:
        data |= {
            "first": run_of_side(subject, join.first),
            "second": run_of_side(subject, join.second),
            "lengths": [round(join.first.length, 6), round(join.second.length, 6)],
            "words": [clean_text(join.first.words), clean_text(join.second.words)],
            "ease": join.ease,
            "tolerance": join.tolerance,
            "notches": [[clean_text(w), round(a, 6), round(b, 6)] for w, a, b in join.notches],
        }
    else:
        data["edges"] = [
            [subject.ids[piece], subject.sized(piece).edge_names.index(edge)]
            for piece, _, edge in (key.partition(".") for key in join.edges)
        ]
    return data
