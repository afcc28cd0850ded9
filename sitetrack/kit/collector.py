"""Python's garbage collector, set for a process that answers for days.

By default it looks after every 700 new objects, and through everything that is loaded as soon as that has grown by a
quarter. A pull, a fold or a batch of readings makes some hundred thousand objects that go by themselves when it is
done: looking through them again and again was a third of their time.
"""

import gc

# New objects before the youngest are looked through; only those that point at each other in a ring wait for it.
AFTER_NEW = 50_000
AFTER_YOUNGER = 20


def settle_collector() -> None:
    """Leave what is loaded by now alone for good, and look less often for what is left over of the rest."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(AFTER_NEW, AFTER_YOUNGER, AFTER_YOUNGER)
