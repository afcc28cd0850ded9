"""Floor coverings and the base anchors that bring a frame's foot up to them."""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.standards.limits import Limit, Source, inches
from inspections.standards.sources import ASTM_F1066, FLOOR_GUIDES, FLOOR_PAGES, PRACTICE, PROJECT_SPEC, UFGS_FLOORING


@dataclass(frozen=True, slots=True)
class Covering:
    """A covering's thickness, from the least to the most usual."""

    code: str
    en: str
    es: str
    least: Limit
    most: Limit


def _covering(code: str, en: str, es: str, thickness: tuple[str, str], source: Source) -> Covering:
    least, most = thickness
    return Covering(code, en, es, inches(least, source), inches(most, source))


COVERINGS: Mapping[str, Covering] = {
    covering.code: covering
    for covering in (
        _covering("sealed_concrete", "sealed concrete", "concreto sellado", ("0", "0"), PRACTICE),
        _covering("vinyl_tile", "vinyl composition tile", "loseta vinílica", ("1/8", "1/8"), ASTM_F1066),
        _covering("solid_vinyl", "solid vinyl tile", "vinilo sólido", ("1/8", "5/16"), UFGS_FLOORING),
        _covering("sheet", "sheet linoleum or rubber", "linóleo o hule en rollo", ("5/64", "1/8"), UFGS_FLOORING),
        _covering("carpet_tile", "carpet tile or glued carpet", "alfombra pegada", ("1/4", "3/8"), FLOOR_GUIDES),
        _covering("carpet_pad", "carpet on pad", "alfombra con bajo alfombra", ("1/2", "3/4"), FLOOR_PAGES),
        _covering("ceramic", "ceramic tile, thin-set", "cerámica con adhesivo", ("3/8", "1/2"), FLOOR_PAGES),
        _covering("quarry", "quarry tile", "loseta de barro", ("19/32", "7/4"), FLOOR_GUIDES),
        _covering("terrazzo", "epoxy terrazzo", "terrazo epóxico", ("1/4", "3/8"), FLOOR_GUIDES),
        _covering("hardwood", "hardwood strip", "duela de madera", ("3/4", "3/4"), FLOOR_PAGES),
        _covering("raised_floor", "raised floor", "piso elevado", ("5/2", "24"), FLOOR_GUIDES),
    )
}

BASE_ANCHOR_TRAVEL = inches("2", PROJECT_SPEC)
BASE_ANCHOR_TRAVEL_PRACTICE = inches("11/8", PRACTICE)
