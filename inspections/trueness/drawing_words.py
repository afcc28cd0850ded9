"""The words on the drawing, English and Spanish."""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.trueness.door_fit import Problem


@dataclass(frozen=True, slots=True)
class Words:
    """One language's words."""

    title: str
    untitled: str
    elevation: str
    plan: str
    scale: str
    measures: Mapping[str, str]
    problems: Mapping[Problem, str]
    places: Mapping[str, str]
    verdicts: Mapping[str, str]
    fits: Mapping[str, str]


WORDS: Mapping[str, Words] = {
    "en": Words(
        title="Opening {number}",
        untitled="Opening",
        elevation="ELEVATION FROM THE PULL SIDE",
        plan="PLAN, PULL SIDE BELOW",
        scale="To scale; deviations drawn ×{factor}. Dashed: as scheduled. Heavy: as read.",
        measures={
            "width_head": "head",
            "width_mid": "mid",
            "width_floor": "floor",
            "hinge_plumb_side": "plumb",
            "strike_plumb_side": "plumb",
            "hinge_plumb_face": "plumb across",
            "strike_plumb_face": "plumb across",
            "head_level": "level",
            "squareness": "square",
            "alignment": "alignment",
            "twist": "twist",
        },
        problems={Problem.BINDS: "binds by", Problem.DRAGS: "drags by", Problem.WIDE: "too wide by"},
        places={"floor": "floor:", "stop_strike_head": "stop, top:", "stop_strike_floor": "stop, foot:"},
        verdicts={"pass": "TRUE", "fail": "OUT OF TRUE", "incomplete": "NOT ALL READ"},
        fits={"free": "door free", "binds": "door binds", "drags": "door drags"},
    ),
    "es": Words(
        title="Vano {number}",
        untitled="Vano",
        elevation="ELEVACIÓN DESDE EL LADO DE JALAR",
        plan="PLANTA, LADO DE JALAR ABAJO",
        scale="A escala; desviaciones dibujadas ×{factor}. A rayas: según la lista. Grueso: según lectura.",
        measures={
            "width_head": "cabezal",
            "width_mid": "medio",
            "width_floor": "piso",
            "hinge_plumb_side": "plomo",
            "strike_plumb_side": "plomo",
            "hinge_plumb_face": "plomo a través",
            "strike_plumb_face": "plomo a través",
            "head_level": "nivel",
            "squareness": "escuadra",
            "alignment": "alineación",
            "twist": "torcedura",
        },
        problems={Problem.BINDS: "se atora por", Problem.DRAGS: "arrastra por", Problem.WIDE: "abierto por"},
        places={"floor": "piso:", "stop_strike_head": "tope, arriba:", "stop_strike_floor": "tope, abajo:"},
        verdicts={"pass": "A PLOMO Y ESCUADRA", "fail": "FUERA DE TOLERANCIA", "incomplete": "FALTAN LECTURAS"},
        fits={"free": "puerta libre", "binds": "puerta se atora", "drags": "puerta arrastra"},
    ),
}
