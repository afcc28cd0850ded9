"""What the schedule tells of an opening, row by row; what it does not tell is shown as unknown, never as none."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from openings.models import Opening, Site
from sitetrack.desk.words import SCHEDULE_FIELDS, word
from sitetrack.kit.lengths import Length, UnitSystem, format_length


@dataclass(frozen=True, slots=True)
class FactRow:
    """One fact of the schedule; an empty `value` is unknown."""

    name: Any
    value: str


def schedule_rows(opening: Opening, site: Site) -> list[FactRow]:
    """The rows of the opening's schedule block, in the order a frame is ordered by."""
    units = site.unit_system
    rows = [
        FactRow(_("floor"), f"{opening.floor}, {opening.floor.building}"),
        FactRow(SCHEDULE_FIELDS["room_from"], opening.room_from),
        FactRow(SCHEDULE_FIELDS["room_to"], opening.room_to),
        FactRow(SCHEDULE_FIELDS["mark"], opening.mark),
        FactRow(SCHEDULE_FIELDS["width"], _length(opening.width, units, feet=True)),
        FactRow(SCHEDULE_FIELDS["height"], _length(opening.height, units, feet=True)),
        FactRow(SCHEDULE_FIELDS["size_is"], word("size_is", opening.size_is) if opening.size_is else ""),
        FactRow(SCHEDULE_FIELDS["leaves"], _leaves(opening.leaves)),
        FactRow(SCHEDULE_FIELDS["hand"], opening.hand or _seen_from_push(opening)),
        FactRow(
            SCHEDULE_FIELDS["construction"], word("construction", opening.construction) if opening.construction else ""
        ),
        FactRow(SCHEDULE_FIELDS["jamb_depth"], _length(opening.jamb_depth, units)),
        FactRow(SCHEDULE_FIELDS["wall"], _wall(opening, units)),
        FactRow(SCHEDULE_FIELDS["rating_minutes"], _rating(opening)),
        FactRow(SCHEDULE_FIELDS["electrified"], _yes_no(opening.electrified)),
        FactRow(SCHEDULE_FIELDS["hardware_set"], opening.hardware_set),
        FactRow(SCHEDULE_FIELDS["covering"], opening.covering),
        FactRow(SCHEDULE_FIELDS["covering_thickness"], _length(opening.covering_thickness, units)),
    ]
    if opening.remarks:
        rows.append(FactRow(SCHEDULE_FIELDS["remarks"], opening.remarks))
    return rows


def _length(length: Length | None, units: UnitSystem, *, feet: bool = False) -> str:
    return "" if length is None else format_length(length, units=units, feet=feet)


def _leaves(count: int | None) -> str:
    return "" if count is None else ngettext("%(n)d leaf", "%(n)d leaves", count) % {"n": count}


def _seen_from_push(opening: Opening) -> str:
    side = opening.hinges_seen_from_push
    return _("hinges %(side)s, seen from the push side") % {"side": word("side", side)} if side else ""


def _wall(opening: Opening, units: UnitSystem) -> str:
    if opening.wall is None:
        return ""
    kind = word("wall_kind", opening.wall.kind) if opening.wall.kind else ""
    return ", ".join(part for part in (opening.wall.code, kind, _length(opening.wall.thickness, units)) if part)


def _rating(opening: Opening) -> str:
    if opening.rating_minutes is None:
        return _("as written: %(text)s") % {"text": opening.rating_text} if opening.rating_text else ""
    return _("not rated") if opening.rating_minutes == 0 else f"{opening.rating_minutes} min"


def _yes_no(value: bool | None) -> str:
    return "" if value is None else _("yes") if value else _("no")
