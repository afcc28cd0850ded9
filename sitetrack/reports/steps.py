"""Long work in steps: whoever drives it may show how far it is, or stop it between two of them."""

from collections.abc import Callable, Generator
from typing import TypeVar

T = TypeVar("T")
# What is done and the whole, after every step; at the end the result.
Steps = Generator[tuple[int, int], None, T]
Progress = Callable[[int, int], None]


def finished(steps: Steps[T], progress: Progress | None = None) -> T:
    """Drive steps to their end and give their result."""
    while True:
        try:
            done, whole = next(steps)
        except StopIteration as end:
            result: T = end.value
            return result
        if progress:
            progress(done, whole)
