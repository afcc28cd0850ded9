"""Figures: what was measured, how often, and how it stands to another; nothing here passes or fails."""

import gc
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter
from typing import Any

MS = "ms"


@dataclass(frozen=True, slots=True)
class Figure:
    """One thing measured several times. `of` names the figure of the same area that `ratio` is taken to."""

    name: str
    unit: str
    samples: tuple[float, ...]
    of: str = ""

    @property
    def median(self) -> float:
        """What is quoted; least and most say how far to trust it."""
        return median(self.samples)

    def to_dict(self, area: Sequence["Figure"]) -> dict[str, Any]:
        """Plain types, with the ratio to the figure it is compared with."""
        return {
            "name": self.name,
            "unit": self.unit,
            "samples": len(self.samples),
            "median": self.median,
            "min": min(self.samples),
            "max": max(self.samples),
            "of": self.of,
            "ratio": ratio(self, area),
        }


def ratio(figure: Figure, area: Sequence[Figure]) -> float | None:
    """The figure's median to that of the one it names; None where it names none."""
    base = next((each for each in area if each.name == figure.of), None)
    return figure.median / base.median if base and base.median else None


def milliseconds(work: Callable[[], object]) -> float:
    """How long one call took, by the clock that only runs forward; the collector waits until afterwards."""
    gc.disable()
    try:
        began = perf_counter()
        work()
        return (perf_counter() - began) * 1000
    finally:
        gc.enable()


def each_in_ms(name: str, work: Iterable[Callable[[], object]], *, of: str = "") -> Figure:
    """A figure with one sample a call; the first call is made once before, so that caches are warm."""
    calls = list(work)
    calls[0]()
    return Figure(name, MS, tuple(milliseconds(call) for call in calls), of)


def per_second(name: str, unit: str, work: Callable[[], object], *, count: int, samples: int) -> Figure:
    """A figure of how many of `count` things one call does in a second."""
    work()
    return Figure(name, unit, tuple(count * 1000 / milliseconds(work) for _ in range(samples)))
