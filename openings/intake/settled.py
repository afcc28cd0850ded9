"""What a person settled about a file before it is taken in."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any, get_args

from django.utils.translation import gettext as _

from sitetrack.kit.lengths import Unit
from sitetrack.kit.problems import BadInput, FieldError

# What a column can be mapped to; the material of the frame is asked for its doubt only.
# Width and height may stand in one column; a rating column gives text and minutes.
MAPPABLE = (
    "number", "building", "floor", "mark", "size", "width", "height", "size_is", "leaves", "construction", "hand",
    "jamb_depth", "wall", "wall_kind", "rating", "electrified", "hardware_set", "covering", "covering_thickness",
    "room_from", "room_to", "remarks", "source_key", "x", "y", "frame_material",
)  # fmt: skip
NEVER_BY_DEFAULT = {"number", "source_key", "x", "y", "size", "frame_material"}
DEFAULTABLE = tuple(fact for fact in MAPPABLE if fact not in NEVER_BY_DEFAULT)
UNITS: tuple[Unit, ...] = get_args(Unit)
LONGEST_CHOICE = 200
MOST_CHOICES = 1_000


@dataclass(frozen=True, slots=True)
class Settled:
    """Sheet, columns, defaults and doubtful doors as settled so far.

    `columns` gives the heading for a fact; `defaults` the words that stand for a fact nobody told; `unit` is for
    numbers without a mark; `number_source` says where a model's opening number is read; `ours` and `not_ours` name
    types or numbers a person decided on; `blank_clears` makes a blank cell take back what was known; `partial` says
    that the file lists only part of the site; `file_positions` that its positions count where a person set others.
    """

    sheet: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    unit: Unit = "in"
    number_source: str = ""
    ours: frozenset[str] = frozenset()
    not_ours: frozenset[str] = frozenset()
    blank_clears: bool = False
    partial: bool = False
    file_positions: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Plain data to store; read back by `read_settled`."""
        return asdict(self) | {"ours": sorted(self.ours), "not_ours": sorted(self.not_ours)}

    def to_remember(self) -> dict[str, Any]:
        """What holds for the site's next file of the same headings too."""
        return replace(self, ours=frozenset(), not_ours=frozenset(), partial=False, file_positions=False).to_dict()


def read_settled(stored: Mapping[str, Any]) -> Settled:
    """Read what `to_dict` wrote, or what a form sent; raises BadInput naming the first field that can't be."""
    columns, defaults = _choices(stored, "columns", MAPPABLE), _choices(stored, "defaults", DEFAULTABLE)
    unit: Unit | None = next((known for known in UNITS if known == (stored.get("unit") or "in")), None)
    if unit is None:
        raise _wrong("unit", str(stored["unit"]), _("one of %(choices)s") % {"choices": ", ".join(UNITS)})
    return Settled(
        sheet=_text(stored, "sheet"),
        columns=columns,
        defaults=defaults,
        unit=unit,
        number_source=_text(stored, "number_source"),
        ours=_names(stored, "ours"),
        not_ours=_names(stored, "not_ours"),
        blank_clears=stored.get("blank_clears") is True,
        partial=stored.get("partial") is True,
        file_positions=stored.get("file_positions") is True,
    )


def _text(stored: Mapping[str, Any], key: str) -> str:
    value = stored.get(key) or ""
    if not isinstance(value, str) or len(value) > LONGEST_CHOICE:
        raise _wrong(key, str(value), _("a text of at most %(n)d characters") % {"n": LONGEST_CHOICE})
    return value


def _names(stored: Mapping[str, Any], key: str) -> frozenset[str]:
    values = stored.get(key) or []
    if not isinstance(values, list | tuple | set | frozenset) or len(values) > MOST_CHOICES:
        raise _wrong(key, str(values), _("a list of at most %(n)d names") % {"n": MOST_CHOICES})
    return frozenset(str(value)[:LONGEST_CHOICE] for value in values)


def _choices(stored: Mapping[str, Any], key: str, allowed: tuple[str, ...]) -> dict[str, str]:
    values = stored.get(key) or {}
    if not isinstance(values, Mapping):
        raise _wrong(key, str(values), _("a name for each fact"))
    for fact, name in values.items():
        if fact not in allowed:
            raise _wrong(key, str(fact), _("one of %(choices)s") % {"choices": ", ".join(allowed)})
        if not isinstance(name, str) or len(name) > LONGEST_CHOICE:
            raise _wrong(f"{key}.{fact}", str(name), _("a text of at most %(n)d characters") % {"n": LONGEST_CHOICE})
    return {fact: name for fact, name in values.items() if name.strip()}


def _wrong(field_name: str, read: str, expected: str) -> BadInput:
    read = read[:60]
    said = _("“%(read)s” can't be settled here; expected %(expected)s.") % {"read": read, "expected": expected}
    error = FieldError(field_name, said, read, expected)
    return BadInput(f"{field_name}: {error.detail}", errors=[error])
