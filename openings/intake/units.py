"""Which unit the numbers without a mark are in, proposed from the numbers themselves."""

import re
from collections.abc import Iterator, Mapping, Sequence

from openings.intake.headings import unit_in
from sitetrack.kit.lengths import Unit

Ranges = dict[Unit, tuple[float, float]]
# From the narrowest leaf to a wide pair; these meet in places.
WIDTHS: Ranges = {"mm": (550, 3000), "cm": (55, 300), "in": (22, 118), "ft": (1.8, 9.8), "m": (0.55, 3)}
# From a low door to a tall one; no two of these meet, so one height is enough to tell.
HEIGHTS: Ranges = {"mm": (1700, 4500), "cm": (170, 450), "in": (66, 144), "ft": (5.5, 14), "m": (1.7, 4.5)}
_BOTH = re.compile(r"(?P<width>[\d.]+)\s*[xX×]\s*(?P<height>[\d.]+)")


def proposed_unit(columns: Mapping[str, str], samples: Mapping[str, Sequence[str]]) -> Unit | None:
    """The one unit in which every sampled bare number is the size of a door, or None where that is not plain."""
    possible, seen = set(WIDTHS), False
    for number, ranges in _bare_numbers(columns, samples):
        seen = True
        possible &= {unit for unit, (least, most) in ranges.items() if least <= number <= most}
    return possible.pop() if seen and len(possible) == 1 else None


def _bare_numbers(columns: Mapping[str, str], samples: Mapping[str, Sequence[str]]) -> Iterator[tuple[float, Ranges]]:
    for fact, ranges in (("width", WIDTHS), ("height", HEIGHTS)):
        name = columns.get(fact)
        if name is not None and not unit_in(name):
            yield from ((float(text), ranges) for text in samples.get(name, ()) if _is_number(text))
    for text in samples.get(columns.get("size", ""), ()):
        both = _BOTH.fullmatch(text)
        if both and _is_number(both["width"]) and _is_number(both["height"]):
            yield float(both["width"]), WIDTHS
            yield float(both["height"]), HEIGHTS


def _is_number(text: str) -> bool:
    return re.fullmatch(r"\d{1,6}(?:\.\d{1,6})?", text) is not None
