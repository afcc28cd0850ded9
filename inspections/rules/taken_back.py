"""A failed reading that its own crew took back."""

from collections.abc import Iterable

from inspections.models.alerts import Severity
from inspections.rules.findings import Case, Finding
from openings.sequence.facts import Action, Fact, Verdict
from openings.sequence.stage import Role

READINGS = (Action.FINISH, Action.FAIL)


def failed_reading_taken_back(case: Case) -> Iterable[Finding]:
    """Whoever read a frame as failed took the reading back, and no passing reading has come since.

    Taking back a mistake is right, and a failed reading taken back leaves the opening as if it had never been read. So
    it is said, as the lesser thing it is, until the frame is read again and passes. A supervisor who takes a reading
    back knows of it.
    """
    for about, void_id in case.state.taken_back.items():
        reading, void = case.facts.get(about), case.facts.get(void_id)
        if reading is None or void is None or reading.verdict != Verdict.FAIL or void.role == Role.SUPERVISOR:
            continue
        if not _passed_since(case, reading):
            evidence = {"stage": reading.stage, "fact": about, "taken_back": void_id, "company": void.company}
            yield Finding("failed-reading-taken-back", about, Severity.NOTICE, void.corrected, evidence)


def _passed_since(case: Case, reading: Fact) -> bool:
    return any(
        fact.verdict == Verdict.PASS and fact.corrected >= reading.corrected
        for fact in case.standing_facts(reading.stage, *READINGS)
    )
