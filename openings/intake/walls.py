"""What a wall's name and layers tell of it."""

import re

from openings.intake.values import plain_words
from openings.selectors.facts import WallTold
from sitetrack.kit.lengths import Length, format_length

LONGEST_CODE = 60
_STUD = re.compile(r"\bstuds?\b|\bmontantes?\b")
_WOOD = re.compile(r"\bwood\b|\btimber\b|\bmadera\b|\bsoftwood\b")
_METAL = re.compile(r"\bmetal\b|\bmtl\b|\bsteel\b|\bgwb\b|\bgyp\w*\b|\bplasterboard\b|\bacero\b|\btablaroca\b")
_MASONRY = re.compile(r"\bcmu\b|\bmasonry\b|\bblock\b|\bbrick\b|\bconcrete\b|\bmamposteria\b|\bladrillo\b|\bconcreto\b")
_EXISTING = re.compile(r"\bexisting\b|\bexist\b|\bexistente\b")
_BOARD = re.compile(r"\bplasterboard\b|\bgyp\w*\b|\bgwb\b|\bboard\b|\bdrywall\b|\btablaroca\b")
KIND_NAMES = {
    "steel_stud": "steel stud and board", "wood_stud": "wood stud and board", "masonry": "masonry",
    "existing": "existing wall",
}  # fmt: skip


def kind_by_name(name: str) -> str:
    """Kind of wall where its name says so in so many words, else empty; "Brick on Mtl. Stud" says two things."""
    words = plain_words(name)
    if _EXISTING.search(words):
        return "existing"
    kinds = set()
    if _MASONRY.search(words):
        kinds.add("masonry")
    if _STUD.search(words) or _METAL.search(words):
        kinds.add("wood_stud" if _WOOD.search(words) else "steel_stud")
    return kinds.pop() if len(kinds) == 1 else ""


def wall_told(code: str | None, kind: str, default_kind: str = "") -> WallTold:
    """A wall by its code in a schedule, or by its kind alone."""
    kind = kind or (kind_by_name(code) if code else "") or default_kind
    return WallTold(code=(code or KIND_NAMES[kind])[:LONGEST_CODE], kind=kind)


def wall_of_layers(name: str, layers: list[tuple[str, Length]]) -> WallTold | None:
    """A wall of a model: its thickness is the sum of its layers; stud and kind only where the layers' names tell.

    One layer called "Default Wall" says nothing of the build-up, so its kind stays unknown.
    """
    code = " ".join(name.split())[:LONGEST_CODE]
    if not code:
        return None
    words = [plain_words(material) for material, _ in layers]
    studs = [n for n, material in enumerate(words) if _STUD.search(material)]
    kinds = {"masonry" for material in words if _MASONRY.search(material)}
    kinds |= {
        "wood_stud" if _WOOD.search(words[n]) else "steel_stud"
        for n in studs
        if _METAL.search(words[n]) or _WOOD.search(words[n])
    }
    thickness = sum((thick for _, thick in layers), Length(0)) if layers else None
    boards: tuple[str, ...] = ()
    if len(studs) == 1 and kinds <= {"steel_stud", "wood_stud"}:
        stud = studs[0]
        one, other = (_boards(layers[:stud], words[:stud]), _boards(layers[stud + 1 :], words[stud + 1 :]))
        # Which side the door opens to is not told; only alike on both sides the boards are known of each.
        boards = one if sorted(one) == sorted(other) else ()
    kind = kinds.pop() if len(kinds) == 1 else ""
    return WallTold(
        code=code,
        kind=kind,
        # Furring studs before masonry hold no frame.
        stud=layers[studs[0]][1] if len(studs) == 1 and kind.endswith("_stud") else None,
        thickness=thickness or None,
        boards_pull=boards,
        boards_push=boards,
    )


def _boards(layers: list[tuple[str, Length]], words: list[str]) -> tuple[str, ...]:
    return tuple(
        format_length(thick, units="metric")
        for (_, thick), material in zip(layers, words, strict=True)
        if _BOARD.search(material)
    )
