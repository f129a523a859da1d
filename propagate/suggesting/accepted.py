"""The likely proposals as TOML text, with the evidence as comments.

Two likely proposals that are in each other's way are both written as comments, side by
side: a person takes the mark away from the one that holds.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from propagate.pattern.answers import Joining
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, Band, Opening, Seam, Stack
from propagate.pattern.toml_text import lines_of_relation
from propagate.suggesting.nest import Nest, measure
from propagate.suggesting.proposal import Claim, Claimed, Proposal
from propagate.suggesting.settled import claims_of
from propagate.suggesting.suggestions import Suggestions
from propagate.values import dataclass

__all__ = ["ACCEPT", "Choice", "accepted", "choose", "comment_of", "named_apart", "names_of"]

ACCEPT = 0.9
"""Level above which proposals are written.

On the demo sets without relations and names, in any order and frame, the lowest true seam,
opening, stack or band scores 0.924 and the highest false proposal 0.818 (0.750 when the set says
which pieces are cut as pairs or on the fold).  What is sewn twice over, such as a fly, scores
below the level on purpose: its partners are equal to each other, too.
"""
_WIDTH = 98


@dataclass(frozen=True)
class Choice:
    """What is written of a set's suggestions.

    Attributes
    ----------
    taken : tuple of Proposal
    rivals : tuple of tuples of Proposal
        Likely proposals that are in each other's way; none of them is taken.
    known : tuple of Proposal
        Likely proposals on what the set joins already.
    """

    taken: tuple[Proposal, ...]
    rivals: tuple[tuple[Proposal, ...], ...]
    known: tuple[Proposal, ...]


def choose(suggestions: Suggestions, level: float = ACCEPT) -> Choice:
    """Choose the proposals at or above a level that nothing stands in the way of."""
    likely = [one for one in suggestions.proposals if one.score >= level]
    joined = Claimed([_list_claims(suggestions.pattern)])
    known = [one for one in likely if joined.over(one.claims)]
    fresh = [one for one in likely if not joined.over(one.claims)]
    wanted = Claimed([one.claims for one in fresh])
    contested = {id(one) for k, one in enumerate(fresh) if set(wanted.over(one.claims)) - {k}}
    taken = [one for one in fresh if id(one) not in contested]
    names = {one.name for one in taken} | set(suggestions.pattern.relations.openings)
    taken = [one for one in taken if all(need in names for need in one.needs)]
    groups = [tuple(one for one in group if id(one) in contested) for group in suggestions.groups]
    return Choice(tuple(taken), tuple(group for group in groups if group), tuple(known))


def accepted(suggestions: Suggestions, level: float = ACCEPT) -> str:
    """Return TOML text of the proposals at or above a level, to be added to a set's file.

    Parameters
    ----------
    suggestions : Suggestions
    level : float
        0 to 1.

    Returns
    -------
    str
        Empty when there is nothing to write.  Each relation stands below its evidence as
        comments.  Proposals in each other's way are comments altogether.
    """
    choice = choose(suggestions, level)
    used, renamed = names_of(suggestions.pattern), dict[tuple[type, str], str]()
    blocks = [
        "\n".join([*comment_of(one), *_write_relations(named_apart(one.relations, used, renamed))])
        for one in choice.taken
    ]
    blocks += ["\n".join(_side_by_side(group)) for group in choice.rivals]
    return "\n\n".join(blocks) + "\n" if blocks else ""


def comment_of(one: Proposal) -> Iterator[str]:
    """The score and the evidence of a proposal, as lines of comment."""
    yield from _wrap_text(f"suggested, score {one.score:.3f}: {one}", "# ", "#   ")
    for text in one.evidence:
        yield from _wrap_text(text, "# + ", "#   ")
    for text in one.against:
        yield from _wrap_text(text, "# - ", "#   ")


def _wrap_text(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False
    )


def _write_relations(relations: Iterable[Joining]) -> Iterator[str]:
    for relation in relations:
        yield from lines_of_relation(relation)


def _side_by_side(group: Sequence[Proposal]) -> Iterator[str]:
    yield "# These are in each other's way; take the mark away from the one that holds."
    for one in group:
        yield "#"
        yield from comment_of(one)
        for line in _write_relations(one.relations):
            yield f"# {line}"


# ------------------------------------------------------------- what the set has already


def _list_claims(pattern: PatternSet) -> list[Claim]:
    """The stretches that the set's own relations claim."""
    relations = pattern.relations
    if not (relations.seams or relations.openings or relations.bands):
        return []
    nest = measure(pattern)
    claims: list[Claim] = []
    for seam in relations.seams.values():
        claims += _known_claims(nest, seam)
    for band in relations.bands.values():
        claims += _known_claims(nest, band)
    stacked = {stack.opening for stack in relations.stacks.values()}
    for opening in relations.openings.values():
        length = float(nest.edges[f"{opening.piece}.{opening.edge}"].lengths[nest.base])
        claims.append(Claim("opening", opening.piece, opening.edge, 0.0, length))
        if opening.name in stacked:
            claims.append(Claim("stack", opening.piece, opening.edge, 0.0, length))
    return claims


def _known_claims(nest: Nest, relation: Seam | Band) -> tuple[Claim, ...]:
    if isinstance(relation, Seam):
        return claims_of(nest, (*relation.lead, *relation.follow))
    return claims_of(nest, (span for zone in relation.zones for span in zone.run))


def names_of(pattern: PatternSet) -> set[tuple[type, str]]:
    """Every relation that a set has, by its type and name."""
    relations = pattern.relations
    return {
        (type(one), one.name)
        for table in (
            relations.assemblies,
            relations.seams,
            relations.openings,
            relations.stacks,
            relations.bands,
        )
        for one in table.values()
    }


def named_apart(
    relations: Iterable[Joining], used: set[tuple[type, str]], renamed: dict[tuple[type, str], str]
) -> Iterator[Joining]:
    """Give a relation another name where the set has one of that name already."""
    for relation in relations:
        name, count = relation.name, 2
        while (type(relation), name) in used:
            name, count = f"{relation.name}_{count}", count + 1
        used.add((type(relation), name))
        renamed[type(relation), relation.name] = name
        if isinstance(relation, Opening):
            silhouette = renamed.get((Assembly, relation.silhouette), relation.silhouette)
            yield replace(relation, name=name, silhouette=silhouette)
        elif isinstance(relation, Stack):
            opening = renamed.get((Opening, relation.opening), relation.opening)
            yield replace(relation, name=name, opening=opening)
        else:
            yield replace(relation, name=name)
