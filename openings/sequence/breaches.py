"""Breaches: work that went ahead of what it should have waited for, and how sure the order is.

Clocks are corrected but not exact. When a prerequisite is put right only moments after the work went ahead of it, and
the two were reported by different phones, nobody can tell which came first: the breach says so and is not critical.
Moments means less than the sum of the two check-ins' uncertainties. On one phone the counter decides, and there is no
doubt.
"""

from collections.abc import Iterator
from dataclasses import replace

from openings.sequence.facts import Fact
from openings.sequence.stage import Kind, Stage
from openings.sequence.state import Breach, BreachKind, Plain


class BreachBook:
    """The breaches of one walk, in the order they were found."""

    def __init__(self) -> None:
        """Start with none."""
        self._found: list[tuple[Breach, Fact]] = []
        self._open: dict[str, list[int]] = {}  # by prerequisite: those that nothing has put right yet

    def __iter__(self) -> Iterator[Breach]:
        """Yield the breaches found so far."""
        return (breach for breach, _ in self._found)

    def add(self, stage: Stage, prerequisite: Stage, cause: Fact, at: int, kind: BreachKind, last: Fact | None) -> None:
        """Note that `cause` went ahead at `stage`; `last` is the prerequisite's last check-in before it, if any.

        Only work can pass a hold point: a check that is read early hides nothing.
        """
        passes = stage.kind is Kind.WORK
        if kind is BreachKind.PAST_HOLD_POINT and not passes:
            kind = BreachKind.OUT_OF_ORDER
        evidence: dict[str, Plain] = {
            "person": cause.person,
            "company": cause.company,
            "action": cause.action,
            "prerequisite_fact": None if last is None else last.id,
            "righted_by": None,
            "righted_at": None,
            "uncertainty": None,
        }
        self._open.setdefault(prerequisite.code, []).append(len(self._found))
        critical = passes and prerequisite.hold_point and kind is not BreachKind.BEFORE_SIGNED
        breach = Breach(stage.code, prerequisite.code, cause.id, at, kind, kind, critical, evidence)
        self._found.append((breach, cause))

    def achieved(self, prerequisite: str, fact: Fact, at: int) -> None:
        """A stage was finished, or read with a pass that is current: what went ahead of that is put right."""
        self._put_right(prerequisite, fact, at, signature=False)

    def signed(self, prerequisite: str, fact: Fact, at: int) -> None:
        """A current pass was signed: what went ahead of the signature is put right."""
        self._put_right(prerequisite, fact, at, signature=True)

    def _put_right(self, prerequisite: str, fact: Fact, at: int, *, signature: bool) -> None:
        still_open = []
        for number in self._open.pop(prerequisite, ()):
            breach, cause = self._found[number]
            if (breach.was is BreachKind.BEFORE_SIGNED) is signature:
                self._found[number] = (_righted(breach, cause, fact, at), cause)
            else:
                still_open.append(number)
        if still_open:
            self._open[prerequisite] = still_open


def _righted(breach: Breach, cause: Fact, fact: Fact, at: int) -> Breach:
    doubt = 0 if fact.device and fact.device == cause.device else fact.uncertainty + cause.uncertainty
    evidence = {**breach.evidence, "righted_by": fact.id, "righted_at": at, "uncertainty": doubt}
    if at - breach.at < doubt:
        return replace(breach, kind=BreachKind.ORDER_UNCERTAIN, critical=False, evidence=evidence)
    return replace(breach, evidence=evidence)
