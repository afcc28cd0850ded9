"""The verdict on one set of readings: pass, fail or incomplete, with the margin and the source of every limit.

Exactly at a limit passes. A required reading that is missing, or readings that contradict each other, make a check
incomplete and never a pass; anything out of its limit makes it a fail whatever is missing.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from inspections.standards.clearances import GAP_RULES
from inspections.standards.limits import Limit
from inspections.trueness.measures import FLOOR_RISE
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.reconciliation import Contradiction, find_contradictions
from inspections.trueness.shape import head_out_of_square, out_of_twist
from sitetrack.kit.lengths import ZERO, Length, UnitSystem, length_json


class Outcome(StrEnum):
    """What a check comes to."""

    PASS = "pass"  # noqa: S105 - a verdict, not a password
    FAIL = "fail"
    INCOMPLETE = "incomplete"


@dataclass(frozen=True, slots=True)
class Item:
    """One measure judged: it must lie from `least` to `most`, both allowed, each with its limit's source."""

    name: str
    value: Length
    least: Length
    most: Length
    low: Limit
    high: Limit
    derived: bool = False

    def __hash__(self) -> int:
        """By the few parts that tell items apart; what they are found by, not whether they are equal."""
        return hash((self.name, self.value.nm, self.most.nm))

    @property
    def margin(self) -> Length:
        """Room left to the nearer end; negative when the measure is out."""
        return min(self.value - self.least, self.most - self.value)

    @property
    def verdict(self) -> Outcome:
        """Pass when inside or exactly at a limit."""
        return Outcome.PASS if self.least <= self.value <= self.most else Outcome.FAIL

    def to_dict(self, units: UnitSystem = "imperial") -> dict[str, Any]:
        """Plain types in the shape of an answer; `limit` is the nearer end, or the plus-or-minus."""
        return dict(_item_told(self, units))


# Readings are taken to 32nds of an inch: a site's items are the same few hundred, each told many thousand times.
@lru_cache(maxsize=4096)
def _item_told(item: Item, units: UnitSystem) -> dict[str, Any]:
    nearer_low = item.value - item.least < item.most - item.value
    low_end = nearer_low and item.least != -item.most
    return {
        "name": item.name,
        "value": length_json(item.value, units=units),
        "limit": length_json(item.least if low_end else item.most, units=units),
        "least": length_json(item.least, units=units),
        "most": length_json(item.most, units=units),
        "margin": length_json(item.margin, units=units),
        "verdict": item.verdict.value,
        "derived": item.derived,
        "source": (item.low if nearer_low else item.high).cited(),
    }


@dataclass(frozen=True, slots=True)
class Verdict:
    """The outcome of a check, item by item, with what is missing and what cannot be true together."""

    verdict: Outcome
    items: tuple[Item, ...]
    missing: tuple[str, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def suspect(self) -> str | None:
        """The reading to take again first, when readings contradict each other."""
        return self.contradictions[0].reading if self.contradictions else None

    @property
    def failed(self) -> tuple[Item, ...]:
        """The items that are out."""
        return tuple(item for item in self.items if item.verdict is Outcome.FAIL)

    def to_dict(self, units: UnitSystem = "imperial") -> dict[str, Any]:
        """Plain types in the shape of an answer, ready to store beside the readings."""
        return {
            "verdict": self.verdict.value,
            "items": [item.to_dict(units) for item in self.items],
            "missing": list(self.missing),
            "contradictions": [
                {
                    "reading": each.reading,
                    "read": length_json(each.read, units=units),
                    "others_say": length_json(each.others_say, units=units),
                    "off_by": length_json(each.off_by, units=units),
                    "one_of": list(each.one_of),
                }
                for each in self.contradictions
            ],
            "suspect": self.suspect,
            "unknown": list(self.unknown),
        }


def judge(
    readings_text: Mapping[str, object],
    *,
    opening: NominalOpening | None,
    profile: ToleranceProfile,
    required: Sequence[str] | None = None,
) -> Verdict:
    """Judge readings as they came, as text; `required` replaces the profile's own list when a stage has one.

    Bare numbers are in the profile's units. An opening of unknown size is judged as far as it can be and is never
    passed. Raises ReadingError naming "readings.<name>" for a reading that cannot be read as a length.
    """
    return judge_readings(
        read_readings(readings_text, units=profile.units), opening=opening, profile=profile, required=required
    )


def judge_readings(
    readings: Readings,
    *,
    opening: NominalOpening | None,
    profile: ToleranceProfile,
    required: Sequence[str] | None = None,
) -> Verdict:
    """Judge readings already turned to lengths; raises nothing."""
    items = tuple(_items(readings, opening, profile))
    missing = [name for name in (profile.required if required is None else required) if not _taken(readings, name)]
    contradictions: tuple[Contradiction, ...] = ()
    if opening is None:
        missing += ["opening.width", "opening.height"]
    else:
        contradictions = find_contradictions(readings.lengths, opening, profile.disagreement.length)
    if any(item.verdict is Outcome.FAIL for item in items):
        outcome = Outcome.FAIL
    elif missing or contradictions or not items:
        outcome = Outcome.INCOMPLETE
    else:
        outcome = Outcome.PASS
    return Verdict(outcome, items, tuple(missing), contradictions, readings.unknown)


def _taken(readings: Readings, name: str) -> bool:
    return bool(readings.floor_rise) if name == FLOOR_RISE else name in readings.lengths


def _items(readings: Readings, opening: NominalOpening | None, profile: ToleranceProfile) -> Iterator[Item]:
    yield from _frame_items(readings, opening, profile)
    if opening is not None:
        over, under = profile.width_over.length, profile.width_under.length
        least, most = opening.width - under, opening.width + over
        for name in ("width_head", "width_mid", "width_floor"):
            value = readings.get(name)
            if value is not None:
                yield Item(name, value, least, most, profile.width_under, profile.width_over)
    yield from _door_items(readings, profile)


def _frame_items(readings: Readings, opening: NominalOpening | None, profile: ToleranceProfile) -> Iterator[Item]:
    derived = {"twist": out_of_twist(readings.lengths)}
    if opening is not None:
        derived["squareness"] = head_out_of_square(readings.lengths, opening)
    for name, limit in (
        ("squareness", profile.squareness),
        ("alignment", profile.alignment),
        ("twist", profile.twist),
        ("hinge_plumb_side", profile.plumb),
        ("strike_plumb_side", profile.plumb),
        ("hinge_plumb_face", profile.plumb),
        ("strike_plumb_face", profile.plumb),
    ):
        read = readings.get(name)
        value = derived.get(name) if read is None else read
        if value is not None:
            most = limit.length
            yield Item(name, value, -most, most, limit, limit, derived=read is None)


def _door_items(readings: Readings, profile: ToleranceProfile) -> Iterator[Item]:
    """Gaps and clear width, read once the door hangs."""
    rule = GAP_RULES[profile.gap_rule]
    for name, value in readings.lengths.items():
        if name == "clear_width":
            most = max(value, profile.clear_width.length)
            yield Item(name, value, profile.clear_width.length, most, profile.clear_width, profile.clear_width)
        elif name.startswith("gap_"):
            high = {"gap_floor": rule.bottom_most, "gap_meeting": rule.meeting_most}.get(name, rule.most)
            low = None if name == "gap_floor" else rule.least
            least = ZERO if low is None else low.length
            yield Item(name, value, least, high.length, low or high, high)
