"""A sequence plan: the stages of one kind of wall. A Plan that exists is sound."""

from dataclasses import dataclass, field

from openings.sequence.checking import PlanError, problems_of
from openings.sequence.conditions import Attributes
from openings.sequence.stage import NO_WORDS, Stage, WhenUnknown, Words
from openings.sequence.structure import Structure, structure_of

# Every set of answers to the plan's conditions has a structure; a plan with many conditions could have very many.
MOST_STRUCTURES_KEPT = 256


@dataclass(frozen=True)
class Plan:
    """The stages of the work at an opening in one kind of wall.

    `basis` says where the order of work comes from. Raises PlanError, listing every fault, when the stages do not make
    a sound plan. Build a plan once and keep it: it remembers the structures it has worked out.
    """

    code: str
    name: Words
    wall_kind: str
    stages: tuple[Stage, ...]
    basis: Words = NO_WORDS
    _structures: dict[frozenset[str], Structure] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse stages that do not make a sound plan."""
        if problems := problems_of(self.stages):
            raise PlanError(problems)

    def find(self, code: str) -> Stage | None:
        """Return the stage of this code, or None where the plan has none."""
        return next((stage for stage in self.stages if stage.code == code), None)

    def needed(self, attributes: Attributes) -> frozenset[str]:
        """Return the codes of the stages an opening with these attributes needs."""
        return frozenset(stage.code for stage in self.stages if _applies(stage, attributes))

    def structure(self, attributes: Attributes) -> Structure:
        """Return what waits for what at an opening with these attributes."""
        needed = self.needed(attributes)
        structure = self._structures.get(needed)
        if structure is None:
            if len(self._structures) >= MOST_STRUCTURES_KEPT:
                self._structures.clear()
            structure = self._structures[needed] = structure_of(self.stages, needed)
        return structure


def _applies(stage: Stage, attributes: Attributes) -> bool:
    if stage.applies_when is None:
        return True
    answer = stage.applies_when.holds(attributes)
    return stage.if_unknown is WhenUnknown.NEEDED if answer is None else answer
