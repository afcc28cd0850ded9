"""Where the openings of the demo clinic are: two corridors a floor, rooms along both, stairs at the ends.

Metres on the plan, x along the corridors from the west stair, y across them to the north. The walk goes east along the
south corridor and comes back west along the north one.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle, islice

FLOORS = (("1", "First floor"), ("2", "Second floor"), ("3", "Third floor"))
FLOOR_TO_FLOOR_INCHES = 168
BAY = 3.3
# Door lines of the four rows of rooms, from south to north; a corridor runs between the first two and the last two.
ROWS = (("1", 8.8, "South corridor"), ("2", 11.2, "South corridor"), ("3", 18.8, "North corridor"),
        ("4", 21.2, "North corridor"))  # fmt: skip
BETWEEN = 15.0
FEWEST, MOST = 36, 300


@dataclass(frozen=True, slots=True)
class Place:
    """One opening's place: `room` decides the frame (see schedule.py)."""

    number: str
    floor: str
    x: float
    y: float
    room_from: str
    room: str


# What every floor has, in the order they are given up when a floor is small: room, row, share of the corridor's length.
CORE = (
    ("stair", 0, 0.0), ("smoke doors", 0, 0.5), ("electrical", 1, 0.45), ("it room", 1, 0.55), ("stair", 3, 1.0),
    ("elevator lobby", 2, 0.5), ("janitor", 2, 0.4), ("toilet", 1, 0.35), ("smoke doors", 3, 0.5), ("toilet", 2, 0.6),
    ("mechanical", 3, 0.05), ("soiled holding", 3, 0.9),
)  # fmt: skip
DEPARTMENTS = {
    "1": ("exam", "exam", "consult", "exam", "toilet", "imaging", "exam", "clean supply", "lab", "pharmacy", "staff"),
    "2": ("exam", "exam", "procedure", "exam", "consult", "toilet", "exam", "clean supply", "office", "storage"),
    "3": ("office", "consult", "exam", "office", "therapy", "toilet", "exam", "storage", "conference", "staff"),
}


def places(count: int) -> list[Place]:
    """Every opening of the clinic in walking order, floor by floor; `count` from FEWEST to MOST."""
    share, more = divmod(count, len(FLOORS))
    return [
        place for index, (floor, _) in enumerate(FLOORS) for place in _floor(floor, share + (1 if index < more else 0))
    ]


def _floor(floor: str, count: int) -> list[Place]:
    core = CORE[: min(len(CORE), count // 3)]
    rooms = list(islice(cycle(DEPARTMENTS[floor]), count - len(core)))
    length = BAY * (-(-len(rooms) // len(ROWS)) + 1)
    found = [*_rooms(floor, rooms), *_core(floor, core, length)]
    return sorted(found, key=lambda p: (p.y > BETWEEN, p.x if p.y < BETWEEN else -p.x, p.y))


def _rooms(floor: str, rooms: list[str]) -> Iterator[Place]:
    for index, room in enumerate(rooms):
        place_in_row, row = divmod(index, len(ROWS))
        zone, y, corridor = ROWS[row]
        number = f"{floor}{zone}{place_in_row + 1:02d}"
        # Half a bay of shift keeps the doors of two facing rows from standing on one line.
        x = BAY * (place_in_row + 1) + (BAY / 2 if row % 2 else 0)
        yield Place(number, floor, round(x, 2), y, corridor, room)


def _core(floor: str, core: tuple[tuple[str, int, float], ...], length: float) -> Iterator[Place]:
    for index, (room, row, share) in enumerate(core):
        _, y, corridor = ROWS[row]
        yield Place(f"{floor}0{index + 1:02d}", floor, round(share * length, 2), y, corridor, room)
