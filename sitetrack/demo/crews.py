"""Who of the demo's people does what, how long it takes them, and what they write beside it."""

from collections.abc import Mapping
from dataclasses import dataclass

from sitetrack.demo.days import EVERY_DAY
from sitetrack.demo.phones import VISITING_DAYS

# A duty is a stage, or the signature on one.
SIGN = "sign "


@dataclass(frozen=True, slots=True)
class Worker:
    """One hand at work. `duties` in the order they are picked; `misses` is the share of checks that first fail."""

    key: str
    phone: str
    duties: tuple[str, ...]
    weekdays: frozenset[int] = EVERY_DAY
    misses: float = 0.0
    drives_board: bool = False


FRAME_DUTIES = ("receive", "trueness", "anchor", "set", "assemble", "match")
WALL_DUTIES = ("stud", "layout")
BOARD_DUTIES = ("recheck", "fix", "board")
WORKERS: tuple[Worker, ...] = (
    Worker("ingrid", "ingrid-1", (SIGN + "recheck", SIGN + "trueness", "final", "ffl")),
    Worker("kofi", "kofi-1", (SIGN + "trueness", SIGN + "final"), VISITING_DAYS),
    Worker("rogelio", "rogelio-1", FRAME_DUTIES, misses=0.05),
    Worker("yesenia", "yesenia-1", FRAME_DUTIES, misses=0.11),
    Worker("dmitri", "dmitri-1", ("hang",)),
    Worker("aurelio", "aurelio-1", WALL_DUTIES),
    Worker("owen", "owen-1", WALL_DUTIES),
    Worker("efrain", "efrain-1", BOARD_DUTIES),
    Worker("temo", "temo-1", BOARD_DUTIES, drives_board=True),
    Worker("priyal", "priyal-1", ("roughin",)),
    Worker("tomasz", "tomasz-1", ("finish",)),
    Worker("leilani", "leilani-1", ("flooring",)),
)
BY_WORKER = {worker.key: worker for worker in WORKERS}

# Minutes, least and most, at one opening.
MINUTES: Mapping[str, tuple[int, int]] = {
    "receive": (2, 4), "match": (4, 8), "ffl": (3, 6), "layout": (10, 18), "assemble": (12, 20), "set": (15, 30),
    "roughin": (25, 50), "stud": (14, 24), "anchor": (12, 22), "trueness": (7, 13), "board": (24, 42),
    "recheck": (6, 11), "fix": (8, 14), "finish": (20, 34), "flooring": (15, 28), "hang": (28, 48), "final": (8, 15),
    SIGN + "trueness": (2, 4), SIGN + "recheck": (2, 4), SIGN + "final": (2, 4),
}  # fmt: skip
# Long work is reported when it begins too, more often than not.
STARTS_TOLD = frozenset({"set", "roughin", "board", "finish", "flooring", "hang"})
SHARE_TOLD = 0.7
NOTES_SHARE = 0.06
# (English, Spanish), told in the language of who writes.
NOTES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "receive": (("Racked in bay 4, on blocks", "En el rack 4, sobre tacones"),),
    "set": (
        ("Shimmed under the strike foot, slab is low here", "Calza bajo el pie de contra, la losa está baja"),
        ("Shipping bar ground off, guard on", "Barra de embarque esmerilada, con guarda"),
    ),
    "anchor": (("One anchor moved up an inch, stud had a knock-out there", "Un ancla subió una pulgada"),),
    "roughin": (("Raceway comes down the hinge side", "El tubo baja por el lado de bisagras"),),
    "board": (("Second layer tomorrow", "La segunda capa mañana"),),
    "finish": (("Scratch on the strike jamb primed", "Rayón en la jamba de contra con primario"),),
    "hang": (("Closer arm waits for its screws", "Faltan tornillos del cierrapuertas"),),
}
HOLDS_SHARE = 0.015
HOLDS: Mapping[str, tuple[str, str]] = {
    "set": ("Pallets of tile stand in the opening", "Hay tarimas de loseta en el vano"),
    "stud": ("Track is off the line by an inch here", "El canal está una pulgada fuera del trazo"),
    "board": ("Pipe in the wall waits for its inspection", "El tubo del muro espera su inspección"),
    "hang": ("Hinges of the wrong size in the box", "Las bisagras de la caja no son de la medida"),
}
MENDED = (
    "Loosened the base anchor, brought the jamb over and read it again",
    "Se aflojó el ancla de piso, se movió la jamba y se midió de nuevo",
)
READ_TO_FAIL = ("Out as found. Will loosen and move it", "Fuera de medida. Se va a aflojar y mover")
