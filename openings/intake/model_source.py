"""A building model as a schedule: what its doors tell, and what they leave unknown.

Left unknown on purpose: the hand (the model holds the hinge side seen from the push side, and a hand needs to know
which side is secured), construction, jamb depth, wiring, hardware, and what exactly the overall size measures.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from openings.intake.doubts import doubt
from openings.intake.kinds import KIND_WORDS, Kind
from openings.intake.model_doors import ModelDoor
from openings.intake.ratings import rating_minutes
from openings.intake.readings import Choices, NotOurs, Reading
from openings.intake.refusals import RowRefused
from openings.intake.settled import Settled
from openings.intake.tabular import swapped_warning
from openings.intake.values import LARGEST_SIDE, SMALLEST_SIDE
from openings.selectors.facts import LONGEST, ListedOpening, can_be_number
from sitetrack.kit.lengths import format_length

NAME, TAG = "Name", "Tag"
PREFERRED = "Mark"


class ModelSource:
    """Doors read from a model; the model itself is closed by then."""

    words = KIND_WORDS[Kind.MODEL]

    def __init__(self, doors: Sequence[ModelDoor]) -> None:
        self._doors = doors
        self.total = len(doors)

    def choices(self, remembered: Mapping[str, Any] | None = None, *, sheet: str = "") -> Choices:
        """Where the opening number can be read from, with how many doors have one there."""
        sources = self._number_sources()
        known = remembered.get("number_source") if remembered else ""
        proposed = known if known in sources else self._proposed_source()
        labels = {source: f"{source} ({len(numbers)} of {self.total})" for source, numbers in sources.items()}
        samples = {source: tuple(numbers[:5]) for source, numbers in sources.items()}
        return Choices(
            Settled(number_source=proposed), number_sources=labels, samples=samples, headings_digest=self.digest()
        )

    def digest(self, *, sheet: str = "") -> str:
        """Models have no headings; what is settled holds for the next model of the site."""
        return "building-model"

    def readings(self, settled: Settled) -> Iterator[Reading]:
        """Yield every door as settled."""
        source = settled.number_source or self._proposed_source()
        first_of_tag: dict[str, str] = {}
        for door in self._doors:
            number = _number(door, source)
            group = door.type_name or door.name or "without a type"
            # A door of a curtain wall is exported twice by some programs, under one Tag.
            twin = first_of_tag.get(door.tag) if door.tag else None
            first_of_tag.setdefault(door.tag, number)
            doubtful = _doubt(door) if twin is None else _("drawn twice: same Tag as %(number)s") % {"number": twin}
            reading = _read(door, number, source)
            if isinstance(reading, RowRefused):
                yield reading
            elif settled.not_ours & {group, number}:
                yield NotOurs(reading, group, _("settled as not ours"))
            elif doubtful and not settled.ours & {group, number}:
                yield NotOurs(reading, group, doubtful)
            else:
                yield reading

    def _number_sources(self) -> dict[str, list[str]]:
        sources: dict[str, list[str]] = {}
        for door in self._doors:
            for name, value in (*door.numbers.items(), (NAME, door.name), (TAG, door.tag)):
                if value:
                    sources.setdefault(name, []).append(value)
        return sources

    def _proposed_source(self) -> str:
        """The site's own number where most doors carry one; a name only where no two are alike; else the Tag."""
        sources = self._number_sources()
        for source in (PREFERRED, *sorted(set(sources) - {PREFERRED, NAME, TAG})):
            if len(set(sources.get(source, ()))) * 2 > self.total:
                return source
        names = sources.get(NAME, [])
        return NAME if len(set(names)) == self.total and max(map(len, names), default=0) <= LONGEST["number"] else TAG


def _number(door: ModelDoor, source: str) -> str:
    return {NAME: door.name, TAG: door.tag}.get(source) or door.numbers.get(source, "")


def _doubt(door: ModelDoor) -> str:
    return doubt(
        names=(door.type_name, door.name),
        operation=door.operation,
        predefined=door.predefined,
        inside=door.inside,
        height=door.height,
        wall_thickness=door.wall.thickness if door.wall else None,
    )


def _read(door: ModelDoor, number: str, source: str) -> ListedOpening | RowRefused:
    where = _("door #%(id)d") % {"id": door.step_id}
    if not can_be_number(number):
        return RowRefused(
            where, door.step_id, source, "number", number[:60],
            _("a number of at most %(n)d characters") % {"n": LONGEST["number"]},
            _("Choose where else the number is read (Name, Tag or a property), or give the door its number."),
        )  # fmt: skip
    for fact, length in (("width", door.width), ("height", door.height)):
        if length is not None and not SMALLEST_SIDE <= length <= LARGEST_SIDE:
            return RowRefused(
                where, door.step_id, f"Overall{fact.title()}", fact, format_length(length, units="metric"),
                _("from %(low)s to %(high)s")
                % {
                    "low": format_length(SMALLEST_SIDE, units="metric"),
                    "high": format_length(LARGEST_SIDE, units="metric"),
                },
                _("Check the units of the model."), number,
            )  # fmt: skip
    told = _told(door, number)
    return ListedOpening(
        row=door.step_id,
        where=where,
        number=number,
        told=told,
        floor=door.storey[:120],
        building=door.building,
        elevation=door.elevation,
        wall=door.wall,
        source_key=door.key,
        extra={
            name: value[:200] for name, value in (("type in the model", door.type_name), ("Tag", door.tag)) if value
        },
        warnings=tuple(swapped_warning(told)),
    )


def _told(door: ModelDoor, number: str) -> dict[str, Any]:
    told: dict[str, Any] = {
        "number": number, "width": door.width, "height": door.height, "x": door.x, "y": door.y, "source_key": door.key,
    }  # fmt: skip
    if door.rating is not None:
        text = door.rating[: LONGEST["rating_text"]]
        told |= {"rating_text": text, "rating_minutes": rating_minutes(text)}
    if door.operation.startswith("DOUBLE_DOOR") or door.operation.startswith("DOUBLE_PANEL"):
        told["leaves"] = 2
    elif door.operation.startswith(("SINGLE_SWING", "DOUBLE_SWING")):
        told["leaves"] = 1
    # IfcDoor: seen along the placement's +Y, towards which the leaf opens, so from the push side.
    if door.operation in ("SINGLE_SWING_LEFT", "SINGLE_SWING_RIGHT"):
        told["hinges_seen_from_push"] = door.operation.rpartition("_")[2].lower()
    if 1 <= len(door.rooms) <= 2:
        told |= dict(zip(("room_from", "room_to"), door.rooms, strict=False))
    return told
