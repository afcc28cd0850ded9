"""What a plan document was expected to say where it can't be read, in the two languages of the site."""

from collections.abc import Iterable, Mapping

from openings.sequence.conditions import ATTRIBUTES, Choice, Number, YesNo
from openings.sequence.fault_words import say
from openings.sequence.stage import Words

FORMS = '{"attr": ..., "is"|"in"|"above"|"known": ...}, {"all": [...]}, {"any": [...]}, {"not": {...}}'

EXPECTED: Mapping[str, Words] = {
    "object": Words("an object with named fields", "un objeto con campos con nombre"),
    "known fields": Words("only the fields {names}", "solo los campos {names}"),
    "code": Words(
        "a short name of small letters, digits and underscores, a letter first",
        "un nombre corto de minúsculas, cifras y guiones bajos, que empiece con letra",
    ),
    "once": Words("each name once", "cada nombre una sola vez"),
    "words": Words(
        '{{"en": text, "es": text}}, each 1 to {most} characters',
        '{{"en": texto, "es": texto}}, cada uno de 1 a {most} caracteres',
    ),
    "one of": Words("one of {names}", "uno de estos: {names}"),
    "yes or no": Words("true or false", "true o false"),
    "whole number": Words("a whole number", "un número entero"),
    "whole number from": Words("a whole number from {least} up", "un número entero de {least} en adelante"),
    "number from": Words("a number from {least} up", "un número de {least} en adelante"),
    "list": Words("a list of at most {most}", "una lista de {most} como máximo"),
}
# Said after "its condition".
CONDITION_FAULTS: Mapping[str, Words] = {
    "too many questions": Words(
        "asks {asked} questions, expected at most {most}: make it simpler",
        "hace {asked} preguntas y caben {most}: simplifíquela",
    ),
    "too deep": Words(
        "is nested more than {most} deep: make it simpler",
        "tiene más de {most} niveles: simplifíquela",
    ),
    "no form": Words("reads {read}, expected one of {forms}", "dice {read}; se esperaba una de estas: {forms}"),
    "no attribute": Words(
        "asks about {name}, expected one of {names}",
        "pregunta por {name}; se esperaba uno de estos: {names}",
    ),
    "no question": Words(
        "asks {read} of {name}, which is {expected}; expected one of {forms}",
        "pregunta {read} de {name}, que es {expected}; se esperaba una de estas: {forms}",
    ),
    "no value": Words(
        "compares {name} with {read}, expected {expected}",
        "compara {name} con {read}; se esperaba {expected}",
    ),
}


def expected(kind: str, **told: object) -> Words:
    """What was expected, filled in."""
    return say(EXPECTED, kind, **told)


def expected_one_of(names: Iterable[str]) -> Words:
    """That one of these names was expected; they are data and the same in both languages."""
    return expected("one of", names=", ".join(names))


def expected_of(name: str) -> Words:
    """What the value of an attribute may be."""
    match ATTRIBUTES[name]:
        case Choice(words):
            return expected_one_of(words)
        case YesNo():
            return expected("yes or no")
        case Number(least, whole):
            return expected("whole number from" if whole else "number from", least=least)
