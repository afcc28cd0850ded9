"""A table with headings, read row by row into openings as settled."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake import values
from openings.intake.doubts import material_doubt
from openings.intake.headings import Headings, unit_in
from openings.intake.limits import EXTRA_CHARACTERS, EXTRA_COLUMNS
from openings.intake.ratings import rating_minutes
from openings.intake.readings import NotOurs, PassedOver, Reading
from openings.intake.refusals import ReadingError, RowRefused
from openings.intake.settled import LONGEST_CHOICE, Settled
from openings.intake.tables import Cell, Row, Table, Unusable, is_blank, text_of
from openings.intake.walls import wall_told
from openings.selectors.facts import LONGEST, ListedOpening, WallTold, title
from sitetrack.kit.lengths import Unit, format_length
from sitetrack.kit.problems import BadInput, FieldError

Told = dict[str, Any]
CORRECT_IT = gettext_lazy("Correct it, or leave it blank where it is not known.")
# A word or size nobody knows there leaves the fact unknown; the opening is taken all the same.
LEFT_UNKNOWN = {
    "size", "width", "height", "size_is", "leaves", "construction", "hand", "jamb_depth", "electrified",
    "covering_thickness", "x", "y",
}  # fmt: skip
_FLOOR_TITLE = re.compile(
    r"(?:level|floor|storey|story|nivel|piso|planta|basement|penthouse|ground|roof|sotano)\b.*"
    r"|(?:\d+(?:st|nd|rd|th)|first|second|third|fourth|fifth|ground|main)\s+(?:floor|level|storey|story)\b.*",
    re.IGNORECASE,
)


class RowReader:
    """Reads the rows of one table under one settled mapping."""

    def __init__(self, table: Table, headings: Headings, settled: Settled) -> None:
        self._table, self._headings, self._settled = table, headings, settled
        self._columns = _column_places(headings, settled.columns)
        self._kept = [
            (place, name)
            for place, name in enumerate(headings.names)
            if name and (place not in self._columns.values() or place == self._columns.get("frame_material"))
        ][:EXTRA_COLUMNS]
        self._read = [fact for fact in READERS if fact in self._columns]
        self._units: dict[str, Unit] = {fact: unit_in(settled.columns[fact]) or settled.unit for fact in self._read}
        self._floor_title = ""
        wall_kind = settled.defaults.get("wall_kind", "")
        self._default_kind = values.wall_kind(wall_kind) or ""

    def readings(self) -> Iterator[Reading]:
        """Yield what each row below the headings is."""
        for row in self._table.rows():
            if row.number <= self._headings.last_row or row.is_blank:
                continue
            passed = self._pass_over(row)
            yield passed or self._opening(row)

    def _where(self, row: Row) -> str:
        place = _("row %(n)d") % {"n": row.number}
        return f"{self._table.name}, {place}" if self._table.name else place

    def _cell(self, row: Row, fact: str) -> Cell:
        place = self._columns.get(fact)
        return row.cells[place] if place is not None and place < len(row.cells) else ""

    def _pass_over(self, row: Row) -> PassedOver | None:
        if self._headings.repeated_in(row):
            return PassedOver(self._where(row), _("headings repeated"))
        number = self._cell(row, "number")
        facts = [fact for fact in self._columns if not is_blank(self._cell(row, fact))]
        filled = [cell for cell in row.cells if not is_blank(cell)]
        text = text_of(filled[0])
        if len(filled) == 1 and _FLOOR_TITLE.fullmatch(text) and "floor" not in self._columns:
            self._floor_title = text[:120]
            return PassedOver(self._where(row), text[:80])
        is_wordy = " " in text or text.endswith(":")
        if (is_blank(number) and len(facts) < 2) or (facts == ["number"] and len(filled) == 1 and is_wordy):
            return PassedOver(self._where(row), text[:80])
        return None

    def _opening(self, row: Row) -> Reading:
        try:
            fact = "number"
            number = ""
            number = values.opening_number(self._cell(row, "number"), LONGEST["number"]) or ""
            if not number:
                raise ReadingError("", _("an opening number"), _("Give the row its number, or clear the row."))
            told: Told = {"number": number}
            doubts: list[str] = []
            for fact in self._read:
                self._read_fact(row, fact, told, doubts)
            fact = "wall"
            wall = self._wall(row)
            fact = "floor"
            floor = values.short_text(self._cell(row, "floor"), 120) or self._floor_title
            fact = "building"
            building = values.short_text(self._cell(row, "building"), 120) or ""
        except ReadingError as wrong:
            return self._refused(row, fact, number, wrong)
        opening = ListedOpening(
            row=row.number,
            where=self._where(row),
            number=number,
            told=told,
            floor=floor,
            building=building,
            wall=wall,
            source_key=told.get("source_key") or "",
            extra=self._extra(row),
            warnings=(*doubts, *swapped_warning(told)),
        )
        return self._doubted(row, opening)

    def _read_fact(self, row: Row, fact: str, told: Told, doubts: list[str]) -> None:
        """Read one cell into what is told. One that nobody can read leaves its fact unknown, with a doubt listed.

        Only what the row is known by, a text too long to keep, and a cell that holds no value at all refuse the row.
        """
        cell = self._cell(row, fact)
        try:
            if fact == "width" and self._read_width_code(row, told, doubts):
                return
            found = READERS[fact](cell, self._units[fact])
        except ReadingError as wrong:
            if fact not in LEFT_UNKNOWN or isinstance(cell, Unusable):
                raise
            doubts.append(
                _("%(fact)s: “%(read)s” was read, expected: %(expected)s; left unknown.")
                % {"fact": _name(fact), "read": wrong.read, "expected": wrong.expected}
            )
            return
        # A blank column of leaves does not take back the PR beside the size.
        told |= {name: value for name, value in found.items() if value is not None or name not in told}

    def _read_width_code(self, row: Row, told: Told, doubts: list[str]) -> bool:
        """Read 3068 among the widths as 3'-0" by 6'-8"; where the column of heights says otherwise, that counts."""
        size = values.width_code(self._cell(row, "width"), self._units["width"])
        if size is None:
            return False
        told |= {"width": size.width, "height": size.height} | ({"leaves": size.leaves} if size.leaves else {})
        try:
            height = values.side(self._cell(row, "height"), self._units.get("height", self._settled.unit))
        except ReadingError:
            height = None  # said of the height itself, which is read next
        if height is not None and height != size.height:
            code, other = (format_length(one, units="imperial", feet=True) for one in (size.height, height))
            doubts.append(
                _("the code in the width says %(code)s high, the height says %(height)s; the height was taken")
                % {"code": code, "height": other}
            )
        return True

    def _doubted(self, row: Row, opening: ListedOpening) -> Reading:
        """The opening, or the question whether it is ours where its frame is likely not of steel."""
        material = text_of(self._cell(row, "frame_material"))
        mark = str(opening.told.get("mark") or "")
        reason = material_doubt(material, mark)
        # In the file's own words, so that what a person settles holds in every language.
        by_material = f"{self._settled.columns['frame_material']}: {material}" if material else ""
        group = (by_material or mark)[:LONGEST_CHOICE]
        if not group:
            return opening
        if self._settled.not_ours & {group, opening.number}:
            return NotOurs(opening, group, _("settled as not ours"))
        if reason and not self._settled.ours & {group, opening.number}:
            return NotOurs(opening, group, reason)
        return opening

    def _refused(self, row: Row, fact: str, number: str, wrong: ReadingError) -> RowRefused:
        return RowRefused(
            self._where(row),
            row.number,
            self._settled.columns.get(fact, ""),
            fact,
            wrong.read,
            wrong.expected,
            wrong.mend or str(CORRECT_IT),
            number,
        )

    def _wall(self, row: Row) -> WallTold | None:
        code = values.short_text(self._cell(row, "wall"), 60)
        kind = values.wall_kind(self._cell(row, "wall_kind")) or ""
        return wall_told(code, kind, self._default_kind) if code or kind else None

    def _extra(self, row: Row) -> dict[str, str]:
        cells = ((name, row.cells[place]) for place, name in self._kept if place < len(row.cells))
        return {name: text_of(cell)[:EXTRA_CHARACTERS] for name, cell in cells if not is_blank(cell)}


def default_facts(settled: Settled) -> dict[str, Any]:
    """The settled defaults, read like cells; raises BadInput naming the one that can't be read."""
    told: Told = {}
    for fact, words in settled.defaults.items():
        try:
            if fact in READERS:
                told |= READERS[fact](words, settled.unit)
            elif fact in ("floor", "building", "wall"):
                told[fact] = words
            elif fact == "wall_kind":
                told[fact] = values.wall_kind(words)
        except ReadingError as wrong:
            error = FieldError(f"defaults.{fact}", str(wrong), wrong.read, wrong.expected)
            raise BadInput(
                _("What is to stand for %(fact)s: %(wrong)s. %(mend)s")
                % {"fact": _name(fact), "wrong": wrong, "mend": wrong.mend},
                errors=[error],
            ) from wrong
    return {fact: value for fact, value in told.items() if value is not None}


def swapped_warning(told: Mapping[str, Any]) -> Iterator[str]:
    """Warn of a single leaf wider than high; in one real model the two were swapped on most doors."""
    width, height = told.get("width"), told.get("height")
    if width and height and width > height and told.get("leaves") != 2:
        yield _("wider than high, though not marked as a pair: are width and height swapped?")


def _name(fact: str) -> str:
    return _("size") if fact == "size" else title(fact)


def _column_places(headings: Headings, columns: Mapping[str, str]) -> dict[str, int]:
    places: dict[str, int] = {}
    for fact, name in columns.items():
        if name not in headings.names:
            known = ", ".join(f"“{heading}”" for heading in headings.names if heading)
            error = FieldError(f"columns.{fact}", _("There is no column “%(name)s”.") % {"name": name}, name, known)
            raise BadInput(
                _("There is no column “%(name)s”. There are: %(known)s.") % {"name": name, "known": known},
                errors=[error],
            )
        places[fact] = headings.names.index(name)
    if "number" not in places:
        error = FieldError("columns.number", _("No column holds the opening number."), "", _("a heading of the file"))
        known = ", ".join(f"“{heading}”" for heading in headings.names if heading)
        raise BadInput(
            _("Say which column holds the opening number. There are: %(known)s.") % {"known": known}, errors=[error]
        )
    return places


def _text_reader(fact: str) -> Callable[[Cell, Unit], Told]:
    return lambda cell, _: {fact: values.short_text(cell, LONGEST[fact])}


def _simple(fact: str, reader: Callable[[Cell], Any]) -> Callable[[Cell, Unit], Told]:
    return lambda cell, _: {fact: reader(cell)}


def _length(fact: str, reader: Callable[[Cell, Unit], Any]) -> Callable[[Cell, Unit], Told]:
    return lambda cell, unit: {fact: reader(cell, unit)}


def _size(cell: Cell, unit: Unit) -> Told:
    size = values.door_size(cell, unit)
    if size is None:
        return {"width": None, "height": None}
    told: Told = {"width": size.width, "height": size.height}
    return told | ({"leaves": size.leaves} if size.leaves else {})


def _width(cell: Cell, unit: Unit) -> Told:
    width, leaf_count = values.opening_width(cell, unit)
    return {"width": width} | ({"leaves": leaf_count} if leaf_count else {})


def _hand(cell: Cell, _: Unit) -> Told:
    """A pair written where its hand should be tells the leaves, and leaves the hand unknown."""
    return {"hand": None, "leaves": 2} if values.is_pair(cell) else {"hand": values.hand(cell)}


def _rating(cell: Cell, _: Unit) -> Told:
    # The text is kept even where it is a placeholder; only what it says in minutes may stay unknown.
    text = text_of(cell)[: LONGEST["rating_text"]]
    return {"rating_text": text or None, "rating_minutes": rating_minutes(text)}


def _covering(cell: Cell, _: Unit) -> Told:
    text = values.short_text(cell, LONGEST["covering"])
    thickness = values.covering_thickness(text) if text else None
    return {"covering": text} | ({"covering_thickness": thickness} if thickness is not None else {})


# Leaves come after size, width and hand, so that a column of its own has the last word.
READERS: dict[str, Callable[[Cell, Unit], Told]] = {
    "mark": _text_reader("mark"),
    "size": _size,
    "width": _width,
    "height": _length("height", values.side),
    "size_is": _simple("size_is", values.size_is),
    "hand": _hand,
    "leaves": _simple("leaves", values.leaves),
    "construction": _simple("construction", values.construction),
    "jamb_depth": _length("jamb_depth", values.depth),
    "rating": _rating,
    "electrified": _simple("electrified", values.yes_or_no),
    "hardware_set": _text_reader("hardware_set"),
    "covering": _covering,
    "covering_thickness": _length("covering_thickness", values.layer),
    "room_from": _text_reader("room_from"),
    "room_to": _text_reader("room_to"),
    "remarks": _text_reader("remarks"),
    "source_key": _text_reader("source_key"),
    "x": _simple("x", values.coordinate),
    "y": _simple("y", values.coordinate),
}
