"""Identifiers against RFC 9562."""

import time
from datetime import UTC, datetime
from uuid import UUID

from sitetrack.kit.ids import new_id
from tests.published_shapes import unix_ms_of


def test_the_published_example_is_read_as_it_is_published() -> None:
    """RFC 9562, appendix A.6: 22 February 2022, 2:22:22 PM GMT-05:00."""
    moment = datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)
    assert unix_ms_of(UUID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")) == moment.timestamp() * 1000


def test_new_ids_carry_version_variant_and_the_time_of_making() -> None:
    before = time.time()
    made = unix_ms_of(new_id()) / 1000
    assert before - 0.002 <= made <= time.time() + 1


def test_ids_made_later_sort_later_and_none_twice() -> None:
    ids = [new_id() for _ in range(2000)]
    assert ids == sorted(ids)
    assert len(set(ids)) == len(ids)
    assert [str(i) for i in ids] == sorted(str(i) for i in ids), "as text too"
