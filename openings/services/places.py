"""Buildings, floors, walls and plans that a schedule names: found by name, made where they are new.

Used inside the transaction that takes a schedule in or corrects an opening.
"""

from typing import Any

from django.utils.translation import gettext

from openings.models import Building, Floor, Opening, SequencePlan, Site, WallType
from openings.models.walls import WallKind
from openings.selectors.facts import BUILDING_NOT_TOLD, FLOOR_NOT_TOLD, WallTold
from openings.selectors.floor_names import floor_key, level_by_name
from sitetrack.kit.lengths import Length
from sitetrack.kit.problems import Conflict

CODE_LENGTH = 20


class Places:
    """The site's buildings and floors, read once."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._buildings = list(Building.objects.filter(site=site))
        self._floors: dict[tuple[Any, str], Floor] = {}
        for floor in Floor.objects.filter(site=site).select_related("building"):
            self._enter(floor)

    def floor(self, name: str, building_name: str = "", elevation: Length | None = None) -> Floor:
        """The floor of this name, made where the site has none yet."""
        building = self._building(building_name)
        known = self._floors.get((building.pk, floor_key(name)))
        if known is not None:
            return self._at(known, elevation)
        floor = Floor.objects.create(
            site=self._site,
            building=building,
            code=_code(name, {floor.code for floor in self._floors_of(building)}),
            name="" if name == FLOOR_NOT_TOLD else name[:120],
            level=level_by_name(name) or 0,
            elevation=elevation,
        )
        self._enter(floor)
        self._order(building)
        return floor

    def _enter(self, floor: Floor) -> None:
        for name in (floor.name, floor.code):
            if name:
                self._floors.setdefault((floor.building_id, floor_key(name)), floor)

    def _floors_of(self, building: Building) -> list[Floor]:
        """The floors of one building, each once though it is known by two names."""
        return list({floor.pk: floor for floor in self._floors.values() if floor.building_id == building.pk}.values())

    def _at(self, floor: Floor, elevation: Length | None) -> Floor:
        """Note the elevation of a floor whose elevation nobody told so far."""
        if elevation is not None and floor.elevation is None:
            floor.elevation = elevation
            floor.save(update_fields=["elevation"])
            self._order(floor.building)
        return floor

    def _building(self, name: str) -> Building:
        if not name:
            return self._buildings[0] if self._buildings else self._new_building(BUILDING_NOT_TOLD, "")
        for building in self._buildings:
            if name.casefold() in (building.code.casefold(), building.name.casefold()):
                return building
        if len(self._buildings) == 1 and self._buildings[0].code == BUILDING_NOT_TOLD:
            unnamed = self._buildings[0]
            unnamed.code, unnamed.name = _code(name, set()), name[:120]
            unnamed.save(update_fields=["code", "name"])
            return unnamed
        return self._new_building(_code(name, {building.code for building in self._buildings}), name[:120])

    def _new_building(self, code: str, name: str) -> Building:
        building = Building.objects.create(site=self._site, code=code, name=name)
        self._buildings.append(building)
        return building

    def _order(self, building: Building) -> None:
        """Order the floors of a building by elevation where all are known; names say less than heights do."""
        floors = self._floors_of(building)
        heights = [(floor.elevation.nm, floor.code, floor) for floor in floors if floor.elevation is not None]
        if len(heights) < len(floors):
            return
        for level, (_, _, floor) in enumerate(sorted(heights, key=lambda height: height[:2]), start=1):
            if floor.level != level:
                floor.level = level
                floor.save(update_fields=["level"])


class Walls:
    """The site's wall types and the plans that go with their kinds, read once."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._walls = {wall.code.casefold(): wall for wall in WallType.objects.filter(site=site)}
        self._plans: dict[str, SequencePlan] = {}
        for plan in SequencePlan.objects.filter(site=site, current=True).order_by("code"):
            self._plans.setdefault(plan.wall_kind, plan)

    def wall(self, told: WallTold) -> WallType:
        """The wall type of this code, made where it is new; what was unknown of it is filled in, never overwritten."""
        wall = self._walls.get(told.code.casefold())
        facts: dict[str, Any] = {
            "kind": told.kind, "stud": told.stud, "thickness": told.thickness,
            "boards_pull": list(told.boards_pull), "boards_push": list(told.boards_push),
        }  # fmt: skip
        if wall is None:
            wall = self._walls[told.code.casefold()] = WallType.objects.create(site=self._site, code=told.code, **facts)
            return wall
        new = [fact for fact, value in facts.items() if value and not getattr(wall, fact)]
        if new:
            for fact in new:
                setattr(wall, fact, facts[fact])
            wall.save(update_fields=new)
        return wall

    def plan(self, wall: WallType | None) -> SequencePlan:
        """The site's current plan for a kind of wall; an unknown wall is taken for the most common, stud and board."""
        plan = self._plans.get(wall.kind if wall else "") or self._plans.get(WallKind.STEEL_STUD)
        if plan is None:
            raise Conflict(
                gettext("The site has no current sequence plan for steel stud walls. Install the shipped plans first.")
            )
        return plan

    def follow(self, opening: Opening, before: WallType | None) -> None:
        """Give an opening the plan of its new wall, unless a person had chosen another plan for it."""
        if opening.plan_id == self.plan(before).pk:
            opening.plan = self.plan(opening.wall)


def _code(name: str, taken: set[str]) -> str:
    """A code of at most twenty characters that is not taken yet."""
    code, folded = name[:CODE_LENGTH].strip(), {other.casefold() for other in taken}
    number = 2
    while code.casefold() in folded:
        ending = f" {number}"
        code, number = name[: CODE_LENGTH - len(ending)].strip() + ending, number + 1
    return code
