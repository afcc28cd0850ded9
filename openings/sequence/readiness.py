"""What may be done next: what blocks a stage, and how much is left to do behind it.

Plain graph questions over a Structure and two sets of codes: the stages that stand, and the checks that are outdated.
"""

from collections.abc import Container, Mapping, Set

from openings.sequence.structure import Structure


def blockers(structure: Structure, code: str, standing: Container[str], outdated: Set[str]) -> tuple[str, ...]:
    """Return what must be done, or proved again, before anything may be done at a needed stage, in plan order.

    Its direct prerequisites that do not stand, and every outdated stage anywhere before it: what rests on an outdated
    check is not ready, however much was done in between.
    """
    blocking = [before for before in structure.prerequisites[code] if before not in standing]
    if outdated:
        stale = structure.ancestors[code] & outdated
        if stale:
            return tuple(sorted(stale.union(blocking), key=structure.place.__getitem__))
    return tuple(blocking)


def remaining_lengths(structure: Structure, standing: Container[str]) -> dict[str, int]:
    """For every needed stage, return the most stages still to be done on any path from it to the end, itself included.

    The longest path through an acyclic graph, taken backwards along an order that respects it; a stage that stands
    counts for nothing.
    """
    onward = dict.fromkeys(structure.order, 0)
    lengths: dict[str, int] = {}
    for code in reversed(structure.order):
        length = lengths[code] = onward[code] + (code not in standing)
        for before in structure.prerequisites[code]:
            onward[before] = max(onward[before], length)
    return lengths


def remaining_path(structure: Structure, standing: Container[str], lengths: Mapping[str, int]) -> tuple[str, ...]:
    """Return the stages still to be done on the longest remaining path; among equal ones the first in plan order.

    Its first stage has nothing undone before it, or the path would be longer.
    """
    path: list[str] = []
    choices = [code for code in structure.order if code not in standing]
    while choices:
        code = min(choices, key=lambda choice: (-lengths[choice], structure.place[choice]))
        if code not in standing:
            path.append(code)
        choices = [later for later in structure.followers[code] if lengths[later]]
    return tuple(path)
