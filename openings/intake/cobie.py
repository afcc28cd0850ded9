"""COBie workbooks (Construction Operations Building information exchange, NBIMS-US): doors among the components.

Sheets used: Facility (building and units), Floor, Space, Type, Component. A cell a program could not fill holds n/a, or
the heading's own name; both are "not told".
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake.door_sizes import parse_door_size
from openings.intake.doubts import doubt
from openings.intake.readings import Choices, NotOurs, Reading
from openings.intake.refusals import FileRefused, ReadingError, RowRefused
from openings.intake.settled import Settled
from openings.intake.tables import Table, text_of
from openings.intake.tabular import swapped_warning
from openings.intake.values import LARGEST_SIDE, NOT_TOLD, SMALLEST_SIDE, plain_words
from openings.selectors.facts import LONGEST, ListedOpening, can_be_number
from sitetrack.kit.lengths import Length, LengthError, Unit, parse_length

NEEDED_SHEETS = ("Component", "Type", "Space", "Floor")
NUMBER_SOURCES = ("TagNumber", "AssetIdentifier", "BarCode", "Name")
UNITS: dict[str, Unit] = {
    "meters": "m", "metres": "m", "meter": "m", "metre": "m", "millimeters": "mm", "millimetres": "mm",
    "millimeter": "mm", "centimeters": "cm", "centimetres": "cm", "feet": "ft", "foot": "ft", "inches": "in",
    "inch": "in",
}  # fmt: skip
_DOOR_WORDS = re.compile(r"\bdoors?\b|\bpuertas?\b")
# Cupboards and appliances have doors too; only what is classed or exported as a door is one.
_DOOR_CLASS = re.compile(r"\s*(?:23-30|Pr_30_59_24|08 1)\b.*|.*:\s*Doors\b.*|doors?\s*", re.IGNORECASE)
_SIZE_TEXT = re.compile(r"(\d{3,4})\s*(?:mm)?\s*x\s*(\d{3,4})\s*mm", re.IGNORECASE)
Line = Mapping[str, str]


def is_cobie(tables: Sequence[Table]) -> bool:
    """Whether the sheets are those of a COBie workbook."""
    return set(NEEDED_SHEETS) <= {table.name for table in tables}


class CobieSource:
    """The doors of a COBie workbook."""

    words = gettext_lazy("a COBie workbook")

    def __init__(self, tables: Sequence[Table], name: str) -> None:
        sheets = {table.name: table for table in tables}
        self._types = _by_name(sheets["Type"])
        self._floors = _by_name(sheets["Floor"])
        self._floor_of_space = {key: line.get("floorname", "") for key, line in _by_name(sheets["Space"]).items()}
        facility = next(_lines(sheets["Facility"]), {}) if "Facility" in sheets else {}
        self._building = _told(facility, "Name")
        self._unit = UNITS.get(facility.get("linearunits", "").strip().lower())
        self._doors = [line for line in _lines(sheets["Component"]) if self._is_door(line)]
        self.total = len(self._doors)
        if not self._doors:
            raise FileRefused(
                _(
                    "%(name)s is a COBie workbook in which no component is a door. Expected ones with ExtObject "
                    "IfcDoor, or of a type whose Category is doors."
                )
                % {"name": name}
            )

    def choices(self, remembered: Mapping[str, Any] | None = None, *, sheet: str = "") -> Choices:
        """Where the opening number can be read from."""
        numbers = {source: [text for line in self._doors if (text := _told(line, source))] for source in NUMBER_SOURCES}
        numbers = {source: texts for source, texts in numbers.items() if texts}
        known = remembered.get("number_source") if remembered else ""
        source = known if known in numbers else self._proposed_source(numbers)
        labels = {source: f"{source} ({len(texts)} of {self.total})" for source, texts in numbers.items()}
        return Choices(
            Settled(number_source=source),
            number_sources=labels,
            samples={source: tuple(texts[:5]) for source, texts in numbers.items()},
            headings_digest=self.digest(),
        )

    def digest(self, *, sheet: str = "") -> str:
        """COBie always has the same headings."""
        return "cobie"

    def readings(self, settled: Settled) -> Iterator[Reading]:
        """Yield every door as settled."""
        source = settled.number_source or self.choices().proposed.number_source
        for line in self._doors:
            reading = self._read(line, source)
            kind = self._types.get(_key(line.get("typename", "")), {})
            group = _told(line, "TypeName") or "without a type"
            if isinstance(reading, RowRefused):
                yield reading
                continue
            doubtful = doubt(names=(group, kind.get("description", "")), height=reading.told.get("height"))
            if settled.not_ours & {group, reading.number}:
                yield NotOurs(reading, group, _("settled as not ours"))
            elif doubtful and not settled.ours & {group, reading.number}:
                yield NotOurs(reading, group, doubtful)
            else:
                yield reading

    def _proposed_source(self, numbers: Mapping[str, Sequence[str]]) -> str:
        every = (source for source in NUMBER_SOURCES if len(set(numbers.get(source, ()))) == self.total)
        return next(every, "Name")

    def _is_door(self, line: Line) -> bool:
        exported_as = line.get("extobject", "").lower()
        if exported_as.startswith("ifc"):
            return exported_as in ("ifcdoor", "ifcdoorstandardcase")
        category = self._types.get(_key(line.get("typename", "")), {}).get("category", "")
        return bool(_DOOR_CLASS.fullmatch(category)) and bool(_DOOR_WORDS.search(plain_words(category)))

    def _read(self, line: Line, source: str) -> ListedOpening | RowRefused:
        row = int(line["row"])
        where, number = f"Component, row {row}", _told(line, source)
        if not can_be_number(number):
            return RowRefused(
                where, row, source, "number", number[:60],
                _("a number of at most %(n)d characters") % {"n": LONGEST["number"]},
                _("Choose where else the number is read: %(sources)s.") % {"sources": ", ".join(NUMBER_SOURCES)},
            )  # fmt: skip
        rooms = [room.strip() for room in _told(line, "Space").split(",") if room.strip()]
        floor = self._floors.get(_key(next((self._floor_of_space.get(_key(room), "") for room in rooms), "")), {})
        kind = self._types.get(_key(line.get("typename", "")), {})
        key = _told(line, "ExtIdentifier")[: LONGEST["source_key"]]
        try:
            size, warnings = self._size(kind)
        except ReadingError as wrong:
            return RowRefused(where, row, "Type", "size", wrong.read, wrong.expected, wrong.mend, number)
        told: dict[str, Any] = {"number": number, "source_key": key, **size}
        if 1 <= len(rooms) <= 2:
            told |= dict(zip(("room_from", "room_to"), (room[:80] for room in rooms), strict=False))
        return ListedOpening(
            row=row,
            where=where,
            number=number,
            told=told,
            floor=_told(floor, "Name")[:120],
            building=self._building[:120],
            elevation=self._length(floor.get("elevation", "")),
            source_key=key,
            extra={"type in the model": _told(line, "TypeName")[:200]},
            warnings=(*warnings, *swapped_warning(told)),
        )

    def _size(self, kind: Line) -> tuple[dict[str, Length | None], tuple[str, ...]]:
        """Width and height of the type: its nominal sizes, else the size its description spells out."""
        width, height = (self._length(kind.get(side, "")) for side in ("nominalwidth", "nominalheight"))
        if width and height:
            if not all(SMALLEST_SIDE <= side <= LARGEST_SIDE for side in (width, height)):
                raise ReadingError(
                    f"{kind['nominalwidth']} x {kind['nominalheight']}", _("the size of a door"),
                    _("Check LinearUnits of the Facility sheet."),
                )  # fmt: skip
            return {"width": width, "height": height}, ()
        written = _SIZE_TEXT.search(kind.get("description", ""))
        if written is None:
            return {"width": None, "height": None}, ()
        size = parse_door_size(f"{written[1]} x {written[2]}", unit="mm")
        return {"width": size.width, "height": size.height}, (_("size read from the description of its type"),)

    def _length(self, text: str) -> Length | None:
        if self._unit is None:
            return None
        try:
            return parse_length(text, unit=self._unit)
        except LengthError:
            return None


def _by_name(table: Table) -> dict[str, Line]:
    return {_key(line.get("name", "")): line for line in _lines(table)}


def _lines(table: Table) -> Iterator[Line]:
    """The rows of a sheet by heading, in small letters; headings stand in the first row."""
    rows = table.rows()
    first = next(rows, None)
    if first is None:
        return
    headings = [text_of(cell).lower() for cell in first.cells]
    for row in rows:
        if not row.is_blank:
            line = {heading: text_of(cell) for heading, cell in zip(headings, row.cells, strict=False) if heading}
            yield line | {"row": str(row.number)}


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _told(line: Line, heading: str) -> str:
    """A cell that tells; not n/a, and not the heading repeated."""
    text = line.get(heading.lower(), "")
    return "" if text.casefold() in NOT_TOLD or text.casefold() == heading.casefold() else text
