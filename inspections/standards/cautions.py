"""Cautions where the work can hurt someone, English and Spanish, each with its source.

They remind; they do not instruct. Local codes, the listing and licensed people decide.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.limits import Citation, Mark, Source
from inspections.standards.sources import NIOSH

DEFER_EN = "Local codes, the listing and licensed people decide."
DEFER_ES = "Deciden los códigos locales, la certificación y las personas con licencia."


class Topic(StrEnum):
    """What can hurt, or spoil a label."""

    LIFTING = "lifting"
    BRACING = "bracing"
    GRINDING = "grinding"
    HOT_WORK = "hot_work"
    PINS = "pins"
    DUST = "dust"
    WIRING = "wiring"
    LADDERS = "ladders"
    EDGES = "edges"
    RATED = "rated"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution; `text` adds who decides."""

    topic: Topic
    en: str
    es: str
    source: Source

    def text(self, language: str) -> str:
        """The caution in "es", or in English for any other language."""
        return f"{self.es} {DEFER_ES}" if language == "es" else f"{self.en} {DEFER_EN}"

    def cited(self) -> Citation:
        """Its source in the shape of an answer."""
        return self.source.cited()


def _osha(sections: str, mark: Mark = Mark.READ) -> Source:
    return Source(f"29 CFR {sections}", "2015 annual edition", mark)


_PRACTICE_MEMORY = Source("site safety practice", "", Mark.MEMORY)

CAUTIONS: Mapping[Topic, Caution] = {
    caution.topic: caution
    for caution in (
        Caution(
            Topic.LIFTING,
            "Two people for a frame or a leaf: 51 lb (23 kg) is the most for one in ideal conditions, less when "
            "reaching or twisting, and a 3-0 x 7-0 leaf weighs more.",
            "Dos personas para un marco o una hoja: 51 lb (23 kg) es lo más para una en condiciones ideales, menos al "
            "estirarse o girar, y una hoja de 3-0 x 7-0 pesa más.",
            NIOSH,
        ),
        Caution(
            Topic.BRACING,
            "A frame standing unbraced tips over. Brace it before anyone lets go.",
            "Un marco parado sin apuntalar se cae. Apuntálelo antes de soltarlo.",
            _PRACTICE_MEMORY,
        ),
        Caution(
            Topic.GRINDING,
            "Shipping bars are ground off, not twisted off: guard on the wheel, eye and face protection, wheel checked "
            "before mounting.",
            "Las barras de embarque se esmerilan, no se tuercen: guarda en el disco, protección de ojos y cara, disco "
            "revisado antes de montarlo.",
            _osha("1926.300, 1926.303, 1926.102"),
        ),
        Caution(
            Topic.HOT_WORK,
            "Sparks travel to the far side of the wall: clear or cover what burns on both sides, extinguisher at hand, "
            "fire watch during and after. Zinc-coated steel gives off fumes: ventilate.",
            "Las chispas pasan al otro lado del muro: retire o cubra lo que arde en ambos lados, extintor a la mano, "
            "vigía durante y después. El acero con zinc suelta humos: ventile.",
            _osha("1926.352, 1926.353"),
        ),
        Caution(
            Topic.PINS,
            "Powder-actuated tools only in the hands of people trained on that tool, tested each day before loading, "
            "never into board, thin or spalled base, never left loaded.",
            "Herramientas de pólvora solo en manos de quien se capacitó en esa herramienta, probadas cada día antes de "
            "cargar, nunca en tablaroca ni en material delgado o despostillado, nunca se dejan cargadas.",
            _osha("1926.302(e)"),
        ),
        Caution(
            Topic.DUST,
            "Drilling concrete, block or brick makes silica dust: shroud with dust collector, and a HEPA vacuum for "
            "the holes.",
            "Taladrar concreto, block o tabique hace polvo de sílice: campana con colector, y aspiradora HEPA para "
            "los barrenos.",
            Source("OSHA silica fact sheet on drills, 29 CFR 1926.1153 table 1", "", Mark.READ),
        ),
        Caution(
            Topic.WIRING,
            "Find out before driving screws whether live wires are in the way. Wiring of frames is for qualified "
            "electrical people. Ground-fault protection on temporary outlets.",
            "Averigüe antes de atornillar si hay cables vivos en el camino. El cableado de marcos es para "
            "electricistas calificados. Protección de falla a tierra en contactos temporales.",
            _osha("1926.416, 1926.404"),
        ),
        Caution(
            Topic.LADDERS,
            "A ladder in a doorway is secured or barricaded. Nobody stands on the top or the top step, or carries what "
            "can pull him off balance.",
            "Una escalera en un vano se asegura o se acordona. Nadie se para en la tapa ni en el último escalón, ni "
            "carga lo que le quite el equilibrio.",
            _osha("1926.1053(b)"),
        ),
        Caution(
            Topic.EDGES,
            "Cut steel edges: cut-resistant gloves. Grinders and hammer drills: hearing protection.",
            "Cantos de acero cortado: guantes anticorte. Esmeriles y rotomartillos: protección auditiva.",
            _osha("1926.95, 1926.52", Mark.MEMORY),
        ),
        Caution(
            Topic.RATED,
            "A rated frame keeps its label: do not cover, grind, cut, drill or weld it unless its listing allows it. "
            "Anchors by kind and number from its listing; steel shims only.",
            "Un marco contra fuego conserva su etiqueta: no la cubra, y no esmerile, corte, taladre ni suelde sin que "
            "lo permita su certificación. Anclas por clase y número según su certificación; solo calzas de acero.",
            Source("NFPA 80 field modification practice; UL listing", "", Mark.MEMORY),
        ),
    )
}
