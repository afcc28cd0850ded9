"""What one check costs the server: the verdict, the door's fit, and the advice where the frame is out."""

from collections.abc import Callable
from random import Random

from inspections.trueness.advice import advise
from inspections.trueness.answers import advice_answer, fit_answer
from inspections.trueness.door_fit import door_fit
from inspections.trueness.leaf import design_leaf
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.readings import read_readings
from inspections.trueness.verdict import judge_readings
from sitetrack.demo.bench.figures import Figure, each_in_ms
from sitetrack.demo.measuring import Readings, knocked, read, set_frame
from sitetrack.kit.lengths import INCH

OPENING = NominalOpening(INCH * 36, INCH * 84)
CHECKS = 1000
BARE = "verdict alone"


def measure_verdict(*, quick: bool) -> list[Figure]:
    """Checks as a tape gives them, from the texts to the answer that is stored."""
    rng = Random(20)
    count = CHECKS // 10 if quick else CHECKS
    true = [read(set_frame(rng), OPENING, rng) for _ in range(count)]
    out = [read(knocked(set_frame(rng), rng), OPENING, rng) for _ in range(count)]
    return [
        each_in_ms(BARE, (_verdict(readings) for readings in true)),
        each_in_ms("verdict and fit, frame near true", (_whole(readings) for readings in true), of=BARE),
        each_in_ms("verdict, fit and advice, frame out", (_whole(readings) for readings in out), of=BARE),
    ]


def _verdict(texts: Readings) -> Callable[[], object]:
    return lambda: judge_readings(read_readings(texts), opening=OPENING, profile=DEFAULT_PROFILE).to_dict()


def _whole(texts: Readings) -> Callable[[], object]:
    def judged() -> object:
        readings = read_readings(texts)
        verdict = judge_readings(readings, opening=OPENING, profile=DEFAULT_PROFILE)
        leaf = design_leaf(OPENING, DEFAULT_PROFILE)
        fit = door_fit(readings, opening=OPENING, leaf=leaf, profile=DEFAULT_PROFILE)
        told = {**verdict.to_dict(), "fit": fit_answer(fit, DEFAULT_PROFILE)}
        if verdict.failed or verdict.contradictions:
            advice = advise(readings, opening=OPENING, profile=DEFAULT_PROFILE, verdict=verdict)
            told["advice"] = advice_answer(advice, OPENING, DEFAULT_PROFILE.units)
        return told

    return judged
