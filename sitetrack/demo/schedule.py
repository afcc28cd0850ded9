"""The demo's door and frame schedule, first issue and revision, written out as the office would send it: as CSV."""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random

from sitetrack.demo.layout import FLOORS, Place


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the schedule. Texts as the schedule writes them; `rating` in minutes, 0 where not rated."""

    number: str
    floor: str
    room_from: str
    room_to: str
    mark: str
    width: str
    height: str
    leaves: int
    hand: str
    construction: str
    wall: str
    jamb_depth: str
    rating: int
    electrified: bool
    hardware_set: str
    covering: str
    thickness: str
    x: float
    y: float
    remarks: str = ""


@dataclass(frozen=True, slots=True)
class Build:
    """A wall build-up: thickness is stud and boards; the jamb is 1 in deeper, two 7/16 in returns and 1/8 in slack."""

    code: str
    stud: str
    layers: int
    thickness: str
    jamb_depth: str


WALLS = {
    "W1": Build("W1", '3 5/8"', 1, '4 7/8"', '5 7/8"'),
    "W2": Build("W2", '3 5/8"', 2, '6 1/8"', '7 1/8"'),
    "W3": Build("W3", '6"', 1, '7 1/4"', '8 1/4"'),
}
BOARD = '5/8"'
CONCRETE, VINYL, VCT = ("Sealed concrete", "0"), ("Sheet vinyl", '1/8"'), ("Vinyl composition tile", '1/8"')
CARPET, PORCELAIN, QUARRY = ("Carpet tile", '1/4"'), ("Porcelain tile", '3/8"'), ("Quarry tile, mortar bed", '3/4"')
SINGLE, WIDE, PAIR = ("3'-0\"", 1), ("4'-0\"", 1), ("6'-0\"", 2)
LOW, HIGH = "7'-0\"", "8'-0\""
W, KD = "welded", "knocked down"

# room: (width and leaves), height, rating, construction, wall, electrified, covering, hardware set, frame type
FRAMES: dict[str, tuple[tuple[str, int], str, int, str, str, bool, tuple[str, str], str, str]] = {
    "stair": (SINGLE, LOW, 90, W, "W2", False, CONCRETE, "90-1", "F1"),
    "smoke doors": (PAIR, LOW, 20, W, "W1", True, VINYL, "20-6", "F4"),
    "electrical": (SINGLE, LOW, 60, W, "W2", False, CONCRETE, "60-1", "F1"),
    "it room": (SINGLE, LOW, 60, W, "W2", True, VCT, "60-3", "F1"),
    "elevator lobby": (PAIR, HIGH, 60, W, "W2", True, PORCELAIN, "60-6", "F5"),
    "janitor": (SINGLE, LOW, 45, W, "W3", False, CONCRETE, "45-1", "F1"),
    "toilet": (SINGLE, LOW, 0, W, "W3", False, QUARRY, "0-4", "F1"),
    "mechanical": (WIDE, LOW, 90, W, "W2", False, CONCRETE, "90-2", "F2"),
    "soiled holding": (WIDE, LOW, 45, W, "W3", False, VINYL, "45-2", "F2"),
    "exam": (SINGLE, LOW, 0, KD, "W1", False, VINYL, "0-1", "F3"),
    "consult": (SINGLE, LOW, 0, KD, "W1", False, CARPET, "0-1", "F3"),
    "office": (SINGLE, LOW, 0, KD, "W1", False, CARPET, "0-2", "F3"),
    "conference": (PAIR, LOW, 0, W, "W1", False, CARPET, "0-6", "F4"),
    "therapy": (WIDE, LOW, 0, W, "W1", False, VINYL, "0-3", "F2"),
    "procedure": (WIDE, LOW, 20, W, "W1", True, VINYL, "20-2", "F2"),
    "imaging": (WIDE, LOW, 0, W, "W3", False, VINYL, "0-3", "F2"),
    "lab": (SINGLE, LOW, 45, W, "W2", True, VCT, "45-3", "F1"),
    "pharmacy": (SINGLE, LOW, 45, W, "W2", True, VCT, "45-3", "F1"),
    "clean supply": (WIDE, LOW, 20, W, "W1", False, VCT, "20-1", "F2"),
    "storage": (SINGLE, LOW, 45, W, "W2", False, CONCRETE, "45-1", "F1"),
    "staff": (SINGLE, LOW, 20, KD, "W1", True, VINYL, "20-3", "F3"),
}
# A pair's hand is that of its active leaf, and pairs here swing out.
SINGLE_HANDS, PAIR_HANDS = ("LH", "RH", "LHR", "RHR"), ("LHR", "RHR")
OTHER_HAND = {"LH": "RH", "RH": "LH", "LHR": "RHR", "RHR": "LHR"}
HEADINGS = (
    "Door No.", "Level", "Room from", "Room to", "Frame type", "Width", "Height", "Leaves", "Hand", "Construction",
    "Wall type", "Jamb depth", "Fire rating", "Electrified", "Hardware set", "Floor covering", "Covering thickness",
    "X (m)", "Y (m)", "Remarks",
)  # fmt: skip
REVISED = "Rev 2"


def first_issue(places: Iterable[Place], rng: Random) -> list[Row]:
    """The schedule as first issued, in walking order."""
    return [_row(place, rng) for place in places]


def _row(place: Place, rng: Random) -> Row:
    (width, leaves), height, rating, construction, wall, electrified, covering, hardware, mark = FRAMES[place.room]
    hand = rng.choice(PAIR_HANDS if leaves == 2 else SINGLE_HANDS)
    return Row(
        number=place.number,
        floor=place.floor,
        room_from=place.room_from,
        room_to=place.room.replace("it room", "IT room").capitalize() if place.room != "it room" else "IT room",
        mark=mark,
        width=width,
        height=height,
        leaves=leaves,
        hand=hand,
        construction=construction,
        wall=wall,
        jamb_depth=WALLS[wall].jamb_depth,
        rating=rating,
        electrified=electrified,
        hardware_set=f"HW {hardware}",
        covering=covering[0],
        thickness=covering[1],
        x=place.x,
        y=place.y,
    )


def revise(rows: Sequence[Row], *, wider: Iterable[str], turned: Iterable[str], dropped: str, added: str) -> list[Row]:
    """The revision: some openings wider, some of the other hand, one dropped and one new beside `added`."""
    wider, turned = set(wider), set(turned)
    revised = []
    for row in rows:
        if row.number == dropped:
            continue
        if row.number in wider:
            row = replace(row, width="3'-6\"", remarks=REVISED)  # noqa: PLW2901
        if row.number in turned:
            row = replace(row, hand=OTHER_HAND[row.hand], remarks=REVISED)  # noqa: PLW2901
        revised.append(row)
        if row.number == added:
            revised.append(
                replace(
                    row,
                    number=f"{row.number}A",
                    room_from=row.room_to,
                    room_to="Alcove",
                    x=round(row.x + 1.2, 2),
                    remarks=REVISED,
                )
            )
    return revised


def as_csv(rows: Iterable[Row], *, issue: str) -> str:
    """The file as the office sends it: title rows, a blank one, headings, then one line an opening."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["QUILLMERE CLINIC", "Door and frame schedule", issue])
    writer.writerow([])
    writer.writerow(HEADINGS)
    names = dict(FLOORS)
    for row in rows:
        writer.writerow(
            [
                row.number, names[row.floor], row.room_from, row.room_to, row.mark, row.width, row.height, row.leaves,
                row.hand, row.construction, row.wall, row.jamb_depth, f"{row.rating} MIN" if row.rating else "NR",
                "Y" if row.electrified else "N", row.hardware_set, row.covering, row.thickness,
                row.x, row.y, row.remarks,
            ]
        )  # fmt: skip
    return text.getvalue()
