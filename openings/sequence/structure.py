"""Which stages wait for which at one kind of opening, once the stages it does not need are looked through.

A stage that an opening does not need is transparent: whoever waits for it waits for what it waits for. The result
depends on the set of needed stages alone, so a plan works it out once for each set and keeps it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from openings.sequence.stage import Kind, Stage


@dataclass(frozen=True, slots=True)
class Structure:
    """The needed stages of one kind of opening and what each waits for.

    All by stage code. `order` lists the needed stages so that each comes after what it waits for; `prerequisites` are
    the direct ones and `followers` their reverse, in plan order; `ancestors` are all that come before; `covers` and its
    reverse `covered_by` name only what is needed.
    """

    stages: Mapping[str, Stage]
    order: tuple[str, ...]
    place: Mapping[str, int]
    prerequisites: Mapping[str, tuple[str, ...]]
    followers: Mapping[str, tuple[str, ...]]
    ancestors: Mapping[str, frozenset[str]]
    covers: Mapping[str, tuple[str, ...]]
    covered_by: Mapping[str, tuple[str, ...]]
    checks: frozenset[str]
    total_weight: int


def structure_of(stages: Sequence[Stage], needed: Iterable[str]) -> Structure:
    """Work out the structure of the needed stages of a sound plan (see checking.py)."""
    by_code = {stage.code: stage for stage in stages}
    wanted = frozenset(needed)
    place = {code: number for number, code in enumerate(by_code)}
    reached: dict[str, frozenset[str]] = {}  # for every stage, the needed stages it waits for directly
    ancestors: dict[str, frozenset[str]] = {}
    order, _ = untangle({code: stage.after for code, stage in by_code.items()})
    for code in order:
        direct: set[str] = set()
        for before in by_code[code].after:
            direct |= {before} if before in wanted else reached[before]
        reached[code] = frozenset(direct)
        ancestors[code] = reached[code].union(*(ancestors[before] for before in direct))
    in_order = tuple(code for code in order if code in wanted)
    covers = {code: tuple(covered for covered in by_code[code].covers if covered in wanted) for code in in_order}
    prerequisites = {code: tuple(sorted(reached[code], key=place.__getitem__)) for code in in_order}
    return Structure(
        stages=by_code,
        order=in_order,
        place=place,
        prerequisites=prerequisites,
        followers={
            code: tuple(later for later in by_code if code in prerequisites.get(later, ())) for code in in_order
        },
        ancestors={code: ancestors[code] for code in in_order},
        covers=covers,
        covered_by={code: tuple(check for check in in_order if code in covers[check]) for code in in_order},
        checks=frozenset(code for code in in_order if by_code[code].kind is Kind.CHECK),
        total_weight=sum(by_code[code].weight for code in in_order),
    )


def untangle(after: Mapping[str, Iterable[str]]) -> tuple[list[str], list[str]]:
    """Put codes in an order that respects `after`; return that order, and the codes that no order can hold.

    The second list is empty unless some codes wait for each other in a ring, or wait for one that does. Codes that
    `after` does not itself list are taken as already there.
    """
    waiting = {code: {before for before in befores if before in after} for code, befores in after.items()}
    order: list[str] = []
    while free := [code for code, befores in waiting.items() if not befores]:
        order += free
        for code in free:
            del waiting[code]
        for befores in waiting.values():
            befores.difference_update(free)
    return order, list(waiting)
