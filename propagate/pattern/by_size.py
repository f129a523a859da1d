"""Relations with an ease or a width for each size: in one of the sizes, or in one more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from propagate.pattern.amount import Amount
from propagate.pattern.derived import Derived, Width, width_in_size
from propagate.pattern.ease import EaseSaid, ease_in_size, is_by_size
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import Run, Seam, Zone
from propagate.pattern.tape import Tape

__all__ = ["change_eases", "change_widths", "relations_in_size"]

_Eased = TypeVar("_Eased", Seam, Tape, Zone)


def change_eases(
    relations: Relations, change: Callable[[EaseSaid, Run, str], EaseSaid]
) -> Relations:
    """Relations in which each ease that is said by size is another one.

    `change` is told the ease, the run whose first piece decides of the size, and whose ease it is.
    """

    def changed(one: _Eased, run: Run, where: str) -> _Eased:
        return replace(one, ease=change(one.ease, run, where)) if is_by_size(one.ease) else one

    zones = (zone for band in relations.bands.values() for zone in band.zones)
    eased: tuple[Seam | Tape | Zone, ...] = (
        *relations.tapes.values(),
        *relations.seams.values(),
        *zones,
    )
    if not any(is_by_size(one.ease) for one in eased):
        return relations
    return replace(
        relations,
        tapes={n: changed(one, one.run, f"tape '{n}'") for n, one in relations.tapes.items()},
        seams={n: changed(one, one.lead, f"seam '{n}'") for n, one in relations.seams.items()},
        bands={
            name: replace(
                band,
                zones=tuple(
                    changed(zone, zone.run, f"band '{name}', zone '{zone.name}'")
                    for zone in band.zones
                ),
            )
            for name, band in relations.bands.items()
        },
    )


def change_widths(relations: Relations, change: Callable[[Derived, Amount], Width]) -> Relations:
    """Relations in which each width of a derived piece that is said by size is another one."""

    def changed(derived: Derived, width: Width) -> Width:
        return change(derived, width) if isinstance(width, Amount) else width

    found = {
        name: replace(
            derived,
            edges=tuple(
                replace(one, out=changed(derived, one.out), inside=changed(derived, one.inside))
                for one in derived.edges
            ),
        )
        for name, derived in relations.derived.items()
        if any(isinstance(w, Amount) for one in derived.edges for w in (one.out, one.inside))
    }
    return replace(relations, derived={**relations.derived, **found}) if found else relations


def relations_in_size(relations: Relations, size_of: Callable[[str], str]) -> Relations:
    """Relations of one resulting size: of what is said for each size that which holds in it.

    Parameters
    ----------
    relations : Relations
    size_of : callable
        Size that a piece was taken from; of an ease the first piece of a lead decides, of a width
        the main piece.
    """

    def held_ease(ease: EaseSaid, run: Run, _: str) -> EaseSaid:
        return ease_in_size(ease, size_of(run[0].piece)) if run else ease

    def held_width(derived: Derived, width: Amount) -> Width:
        assembly = relations.assemblies.get(derived.of)
        return width_in_size(width, size_of(derived.of if assembly is None else assembly.lead))

    return change_widths(change_eases(relations, held_ease), held_width)
