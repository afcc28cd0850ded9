"""What is said of a plan's faults, and of what it leaves unwatched, in the two languages of the site."""

from collections.abc import Mapping
from dataclasses import dataclass

from openings.sequence.stage import Words

# Formatted with what each fault tells; stages by code, since that is what the links are written in.
FAULTS: Mapping[str, Words] = {
    "no stages": Words(
        "The plan has no stages: add at least one.",
        "El plan no tiene etapas: agregue al menos una.",
    ),
    "too many stages": Words(
        "The plan has {count} stages, expected at most {most}: merge or remove some.",
        "El plan tiene {count} etapas y caben {most}: junte o quite algunas.",
    ),
    "duplicate code": Words(
        "Stage code '{stage}' is used {count} times: give each stage a code of its own.",
        "La clave de etapa '{stage}' se usa {count} veces: dé a cada etapa su propia clave.",
    ),
    "negative weight": Words(
        "Stage '{stage}' has weight {weight}, expected 0 or more.",
        "La etapa '{stage}' tiene peso {weight}; debe ser 0 o más.",
    ),
    "unsigned hold point": Words(
        "Stage '{stage}' is a hold point that nobody signs: name the roles that may sign it.",
        "La etapa '{stage}' es punto de espera y nadie la firma: indique quién puede firmarla.",
    ),
    "work as check": Words(
        "Stage '{stage}' is work, and only a check is signed, is a hold point or covers others: make it a check.",
        "La etapa '{stage}' es trabajo, y solo una revisión se firma, es punto de espera o cubre a otras: hágala "
        "revisión.",
    ),
    "readings of work": Words(
        "Stage '{stage}' is work, and only a check requires readings: make it a check or require none.",
        "La etapa '{stage}' es trabajo, y solo una revisión exige lecturas: hágala revisión o no exija ninguna.",
    ),
    "mark of a check": Words(
        "Stage '{stage}' is work and is marked '{mark}', which only a check does: make it a check or drop the mark.",
        "La etapa '{stage}' es trabajo y lleva la marca '{mark}', propia de una revisión: hágala "
        "revisión o quite la marca.",
    ),
    "mark of work": Words(
        "Stage '{stage}' is a check and is marked '{mark}', which only work does: make it work or drop the mark.",
        "La etapa '{stage}' es revisión y lleva la marca '{mark}', propia de un trabajo: hágala "
        "trabajo o quite la marca.",
    ),
    "duplicate checklist code": Words(
        "Stage '{stage}' has two checklist items of the same code: give each a code of its own.",
        "La etapa '{stage}' tiene dos preguntas con la misma clave: dé a cada una su propia clave.",
    ),
    "condition of no opening": Words(
        "Stage '{stage}' can never be reached: its condition is true of no opening.",
        "Nunca se llega a la etapa '{stage}': su condición no se cumple en ningún vano.",
    ),
    "waits for unknown": Words(
        "Stage '{stage}' waits for '{other}', which the plan does not have: add it or drop it.",
        "La etapa '{stage}' espera a '{other}', que el plan no tiene: agréguela o quítela.",
    ),
    "covers unknown": Words(
        "Stage '{stage}' covers '{other}', which the plan does not have: add it or drop it.",
        "La etapa '{stage}' cubre '{other}', que el plan no tiene: agréguela o quítela.",
    ),
    "cycle": Words(
        "{path}: take one of these links out.",
        "{path}: quite una de estas esperas.",
    ),
    "behind a cycle": Words(
        "Stage '{stage}' can never be reached: {path}, which can never be done.",
        "Nunca se llega a la etapa '{stage}': {path}, que nunca se podrá terminar.",
    ),
    "covers what comes later": Words(
        "Stage '{stage}' covers '{other}' but does not wait for it: make it wait, or drop it.",
        "La etapa '{stage}' cubre '{other}' pero no la espera: haga que la espere, o quítela.",
    ),
    "covers a check": Words(
        "Stage '{stage}' covers '{other}', which is a check: cover the work that it checks.",
        "La etapa '{stage}' cubre '{other}', que es una revisión: cubra el trabajo que se revisa.",
    ),
    "unreadable": Words(
        "{place}: field '{field}' reads {read}, expected {expected}.",
        "{place}: el campo '{field}' dice {read}, se esperaba {expected}.",
    ),
    "unreadable condition": Words(
        "Stage '{stage}': its condition {fault}.",
        "Etapa '{stage}': su condición {fault}.",
    ),
    "unknown reading": Words(
        "Stage '{stage}' requires the reading '{reading}', which nobody can take here: choose one of the "
        "readings listed.",
        "La etapa '{stage}' exige la lectura '{reading}', que aquí no existe: escoja una de las lecturas de la lista.",
    ),
}

# What no fault forbids, but leaves something unwatched. Each says what it costs.
REMARKS: Mapping[str, Words] = {
    "nothing stands the frame": Words(
        "No stage is marked as standing the frame: nobody is warned when the schedule changes after it stands, or when "
        "it is set before the floor is known.",
        "Ninguna etapa lleva la marca de plantar el marco: nadie avisa si la lista cambia con el marco plantado, ni si "
        "se planta antes de conocer el piso.",
    ),
    "nothing confirms the floor": Words(
        "No check is marked as confirming the finished floor: nobody is warned when a frame is set before it is known.",
        "Ninguna revisión lleva la marca de confirmar el piso terminado: nadie avisa si se planta un marco sin "
        "conocerlo.",
    ),
    "nothing closes the wall": Words(
        "No stage is marked as closing the wall: nobody is warned when a wall is closed before the frame is proved.",
        "Ninguna etapa lleva la marca de cerrar el muro: nadie avisa si se cierra un muro antes de revisar el marco.",
    ),
    "wall closed unchecked": Words(
        "Stage '{stage}' closes the wall with no hold point before it: the wall may be closed over an unproved frame.",
        "La etapa '{stage}' cierra el muro sin punto de espera antes: el muro puede cerrarse sobre un marco sin "
        "revisar.",
    ),
    "spreaders unwatched": Words(
        "The closed wall is proved again, but no question asks whether the spreaders are in: nobody is warned when "
        "they come out too soon.",
        "El muro cerrado se revisa otra vez, pero ninguna pregunta trata de los separadores: nadie avisa si se quitan "
        "antes de tiempo.",
    ),
    "check covers nothing": Words(
        "Check '{stage}' covers nothing: it stays good whatever is done again after it.",
        "La revisión '{stage}' no cubre nada: sigue valiendo aunque después se rehaga cualquier trabajo.",
    ),
}

WAITS_FOR = Words(" waits for ", " espera a ")


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """One fault of a plan: a stable code, the stage it sits in ('' for the plan itself), and what is said of it."""

    code: str
    stage: str
    said: Words

    @property
    def words(self) -> str:
        """What is said of it, in English."""
        return self.said.en


def say(table: Mapping[str, Words], kind: str, **told: object) -> Words:
    """What a table says, filled in; what differs by language is given as Words."""

    def filled(language: str) -> str:
        values = {k: getattr(v, language) if isinstance(v, Words) else v for k, v in told.items()}
        return str(getattr(table[kind], language)).format(**values)

    return Words(filled("en"), filled("es"))


def path_of(codes: tuple[str, ...] | list[str]) -> Words:
    """A chain of stages that wait for each other."""
    return Words(WAITS_FOR.en.join(codes), WAITS_FOR.es.join(codes))
