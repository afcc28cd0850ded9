"""How much memory is held, apart from what only waits for the collector."""

import gc
import tracemalloc
from collections.abc import Iterator
from contextlib import contextmanager

OFTEN = (700, 10, 10)  # as a Python process starts


@contextmanager
def memory_traced() -> Iterator[None]:
    """Trace what Python allocates, the collector looking often, for as long as something is measured."""
    usual = gc.get_threshold()
    gc.set_threshold(*OFTEN)
    tracemalloc.start()
    try:
        yield
    finally:
        tracemalloc.stop()
        gc.set_threshold(*usual)
