"""The audit trail: one row a change, in the change's own transaction, never altered, never removed."""

import importlib

import pytest
from django.db import DatabaseError, connection, transaction

from sitetrack.access.models import RecordedChange
from sitetrack.access.models.changes import Act, ChangeIsKept, Kind
from sitetrack.access.services.trail import differing, facts_of, record_change
from tests import builders as b

pytestmark = pytest.mark.django_db
migration = importlib.import_module("sitetrack.access.migrations.0003_recorded_changes")


def recorded(**more: object) -> RecordedChange:
    site = b.site()
    given = {"site": site, "who": b.supervisor(site), "now": b.MONDAY, "kind": Kind.SITE, "act": Act.CHANGED,
             "about": site, "differences": {"hold_limit_days": (3, 5)}} | more  # fmt: skip
    row = record_change(**given)  # type: ignore[arg-type]
    assert row is not None
    return row


def test_tells_who_what_when_and_from_what_to_what() -> None:
    row = RecordedChange.objects.get(pk=recorded().pk)
    assert (row.who, row.at, row.kind, row.act) == (b.supervisor(row.site), b.MONDAY, "site", "changed")
    assert (row.named, row.about_id) == (row.site.name, str(row.site_id))
    assert row.differences == [["hold_limit_days", "3", "5"]]


def test_differences_hold_only_what_differs() -> None:
    site = b.site()
    before = facts_of(site, "name", "hold_limit_days")
    site.hold_limit_days = 9
    assert differing(before, facts_of(site, "name", "hold_limit_days")) == {"hold_limit_days": (3, 9)}


def test_change_that_changed_nothing_is_not_recorded() -> None:
    site = b.site()
    more = {"who": None, "now": b.MONDAY, "kind": Kind.SITE, "about": site}
    before = RecordedChange.objects.count()
    assert record_change(site=site, act=Act.CHANGED, differences={}, **more) is None  # type: ignore[arg-type]
    assert RecordedChange.objects.count() == before


def test_long_values_and_many_fields_are_bounded() -> None:
    row = recorded(differences={f"field {n}": ("", "x" * 5000) for n in range(300)}, about="n" * 900)
    assert (len(row.differences), len(row.differences[0][2]), len(row.named)) == (100, 2000, 200)


def test_model_refuses_to_alter_and_to_remove() -> None:
    row = recorded()
    row.named = "something else"
    for attempt in (row.save, row.delete, lambda: RecordedChange.objects.update(named=""),
                    lambda: RecordedChange.objects.all().delete()):  # fmt: skip
        with pytest.raises(ChangeIsKept):
            attempt()


@pytest.mark.parametrize(
    "statement", ["UPDATE access_recordedchange SET named = 'x'", "DELETE FROM access_recordedchange"]
)
def test_data_base_refuses_too(statement: str) -> None:
    recorded()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(migration.SQLITE_DELETE)  # which the tests' own set-up took away
        with pytest.raises(DatabaseError, match=migration.WORDS), transaction.atomic():
            cursor.execute(statement)
    assert RecordedChange.objects.filter(kind="site").exists()


def test_seen_by_supervisors_of_the_site_only() -> None:
    row = recorded()
    of = row.site
    assert row in RecordedChange.objects.visible_to(b.supervisor(of))
    for other in (b.crew(of), b.viewer(of), b.inspector(of), b.supervisor(b.site())):
        assert row not in RecordedChange.objects.visible_to(other)


@pytest.mark.django_db(transaction=True)
def test_refuses_outside_a_transaction() -> None:
    with pytest.raises(RuntimeError, match="transaction"):
        recorded()
