"""Finding the headings of a table, and proposing what each column holds.

Title rows stand above the headings; the headings may be stacked in up to three rows, with a word such as FRAME merged
over several columns; blank rows lie between. The candidate that names the most facts wins. What comes out is a
proposal: a person settles it.
"""

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from django.utils.translation import gettext as _

from openings.intake.heading_words import HEADING_WORDS, LEAF_ONLY, UNIT_IN_HEADING
from openings.intake.refusals import FileRefused
from openings.intake.tables import Cell, Row, Table, is_blank, text_of
from openings.intake.values import plain_words
from sitetrack.kit.lengths import Unit

LOOKED_AT = 60
DEEPEST_STACK = 3
FEWEST_NAMED = 2
HEADING_CHARACTERS = 60

NOT_THE_LEAFS = {"covering", "covering_thickness", "jamb_depth", "wall", "frame_material"}
_DATA_LIKE = re.compile(r"""[\d\s.,]+|\d+\s*'.*|\d.*["″]|(?:PR\s*)?\d{4}|\d[\d/ -]*|[A-Z]?\d{2,}[A-Z]?(?:[.-]\w+)?""")


@dataclass(frozen=True, slots=True)
class Headings:
    """The headings of one table: a name for each column ("" where it has none), and the row the data starts after."""

    names: tuple[str, ...]
    last_row: int

    @property
    def digest(self) -> str:
        """What a settled mapping is remembered by: the headings themselves, wherever they stand in the sheet."""
        return hashlib.sha256("\x1f".join(self.names).encode()).hexdigest()

    def repeated_in(self, row: Row) -> bool:
        """Whether the row only repeats the headings, as schedules do on each printed page."""
        filled = 0
        for cell, name in zip(row.cells, self.names, strict=False):
            if not is_blank(cell):
                if not isinstance(cell, str) or not plain_words(name).endswith(plain_words(cell)):
                    return False
                filled += 1
        return filled >= FEWEST_NAMED


def find_headings(table: Table) -> Headings:
    """The most likely headings of the table; raises FileRefused where no row could be headings at all.

    Where no words are known, the first row that could be headings is given, and a person says what each column holds.
    """
    rows = list(islice(table.rows(), LOOKED_AT))
    best: tuple[int, int, Headings] | None = None
    for index in range(len(rows)):
        for depth in range(1, DEEPEST_STACK + 1):
            headings = _stacked(rows[index : index + depth], depth)
            if headings is None or sum(1 for name in headings.names if name) < FEWEST_NAMED:
                continue
            # Of two that name as much, the shallower, and then the higher one.
            score = len(propose_columns(headings.names))
            if best is None or (score, -depth) > best[:2]:
                best = (score, -depth, headings)
    if best is None:
        where = _("the sheet “%(name)s”") % {"name": table.name} if table.name else _("the table")
        raise FileRefused(
            _(
                "No row of %(where)s looks like the headings of a door schedule. Expected a row with headings such as "
                "Door No., Width, Height, Hdwr Set within the first %(rows)d rows. Name the columns in one row above "
                "the doors."
            )
            % {"where": where, "rows": LOOKED_AT}
        )
    return best[2]


def names_doors(headings: Headings) -> bool:
    """Whether the words of the headings are those of a door schedule."""
    proposed = propose_columns(headings.names)
    return "number" in proposed and len(proposed) >= FEWEST_NAMED


def propose_columns(names: Sequence[str]) -> dict[str, str]:
    """The heading proposed for each fact that one is found for; each column is used once."""
    found: list[tuple[int, int, str, str]] = []
    for place, name in enumerate(names):
        for fact, rank in _facts_named(name):
            found.append((rank, place, fact, name))
    proposed: dict[str, str] = {}
    for _rank, _place, fact, name in sorted(found):
        if fact not in proposed and name not in proposed.values():
            proposed[fact] = name
    if "width" in proposed and "height" in proposed:
        proposed.pop("size", None)
    return proposed


def unit_in(name: str) -> Unit | None:
    """The unit a heading names, as in "Width (mm)"."""
    marked = re.search(r"[(\[,]\s*(mm|cm|m|in|inch|inches|ft|feet)\.?\s*[)\]]?\s*$", name, re.IGNORECASE)
    return UNIT_IN_HEADING[marked[1].lower()] if marked else None


def _facts_named(name: str) -> Iterator[tuple[str, int]]:
    bare = re.sub(r"\s*\(\d+\)$", "", name)
    if unit_in(bare):
        bare = re.sub(r"[(\[,][^(\[,]*$", "", bare)
    words = plain_words(bare.replace("#", " no ")).replace("hw set", "hwset") or ""
    spellings = {words, words.replace("hwset", "hw set")}
    # Stacked headings repeat the word above: DOOR over NUMBER, OPENING SIZE over WIDTH.
    parts = words.split()
    if len(parts) > 2:
        spellings.add(" ".join(parts[-2:]))
    for fact, phrases in HEADING_WORDS.items():
        ranks = [phrases.index(spelling) for spelling in spellings if spelling in phrases]
        if ranks and not (LEAF_ONLY & set(parts) and fact not in NOT_THE_LEAFS):
            yield fact, min(ranks) + (0 if words in phrases else 100)


def _stacked(rows: Sequence[Row], depth: int) -> Headings | None:
    if len(rows) < depth or any(row.is_blank for row in (rows[0], rows[-1])):
        return None
    if any(_looks_like_data(row.cells) for row in rows):
        return None
    # A title fills one cell; the uppermost row of stacked headings fills several.
    if depth > 1 and sum(not is_blank(cell) for cell in rows[0].cells) < FEWEST_NAMED:
        return None
    width = max(len(row.cells) for row in rows)
    own_lines = [_texts(row.cells, width) for row in rows]
    lines = [_spread(own_lines, upper) for upper in range(depth - 1)] + own_lines[-1:]
    names: list[str] = []
    for column in range(width):
        own = [line[column] for line in own_lines]
        # A word merged over several columns only counts for a column that has a word of its own below.
        words = [line[column] for line in lines] if own[-1] else own
        names.append(_unique(" ".join(dict.fromkeys(word for word in words if word))[:HEADING_CHARACTERS], names))
    return Headings(tuple(names), rows[-1].number)


def _texts(cells: Sequence[Cell], width: int) -> list[str]:
    return [text_of(cell) for cell in cells] + [""] * (width - len(cells))


def _spread(lines: Sequence[Sequence[str]], line: int) -> list[str]:
    """A merged cell keeps its text in its first column only; the ones it covers come as blanks.

    It ends where the next cell of its row begins, and where one of a row above does.
    """
    spread, last = [], ""
    for column, text in enumerate(lines[line]):
        begins_above = any(upper[column] for upper in lines[:line])
        last = text or ("" if begins_above else last)
        spread.append(last)
    return spread


def _unique(name: str, taken: Sequence[str]) -> str:
    if not name or name not in taken:
        return name
    return next(f"{name} ({n})" for n in range(2, len(taken) + 3) if f"{name} ({n})" not in taken)


def _looks_like_data(cells: Sequence[Cell]) -> bool:
    return any(not isinstance(cell, str) or _DATA_LIKE.fullmatch(cell.strip()) for cell in cells if not is_blank(cell))


def remembered_or_proposed(names: Sequence[str], remembered: Mapping[str, str]) -> dict[str, str]:
    """What was settled for these headings before, as far as they still exist; else the proposal."""
    kept = {fact: name for fact, name in remembered.items() if name in names}
    return kept if "number" in kept else propose_columns(names)
