"""What was just done is told once, with its Undo beside it."""

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.messages.storage.fallback import FallbackStorage
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.test import RequestFactory

from sitetrack.desk.told import LONGEST_BACK, Undo, go_back, told, undone
from sitetrack.kit.problems import Conflict
from sitetrack.kit.undoing import UNDO_WITHIN, must_be_ones_own_and_recent
from tests.builders import MINUTE, MONDAY


def asked(method: str = "get", **form: str) -> HttpRequest:
    request: Any = getattr(RequestFactory(), method)("/s/clinic/alerts?rule=x", form)
    request.session = {}
    request._messages = FallbackStorage(request)
    return request


def page(request: Any) -> str:
    return render_to_string("desk/told.html", {"messages": request._messages}, request=request)


def test_what_is_told_carries_a_form_that_undoes_it() -> None:
    request = asked()
    told(request, "Moved <b>", undo=Undo("/s/clinic/undo", {"x": '1"2'}))
    markup = page(request)
    assert "Moved &lt;b&gt;" in markup
    assert '<form method="post" action="/s/clinic/undo">' in markup
    assert 'name="x" value="1&quot;2"' in markup
    assert 'name="back" value="/s/clinic/alerts?' in markup
    assert "csrfmiddlewaretoken" in markup


def test_it_outlives_the_redirect_in_the_cookie() -> None:
    request: Any = asked()
    told(request, "Done.", undo=Undo("/undo"))
    answer = go_back(request, "/next")
    request._messages.update(answer)
    later: Any = asked()
    later.COOKIES["messages"] = answer.cookies["messages"].value
    assert 'action="/undo"' in page(later)


def test_without_an_undo_there_is_no_form() -> None:
    request = asked()
    told(request, "Done.")
    assert "<form" not in page(request)


def test_an_undo_is_told_in_turn() -> None:
    request = asked("post", back="/s/clinic/today?x=1")
    answer = undone(request, lambda: None, said="Taken back.", back="/s/clinic/alerts")
    assert answer["Location"] == "/s/clinic/today?x=1"
    assert "Taken back." in page(request)


def test_an_undo_that_is_refused_says_why() -> None:
    request = asked("post")

    def refuse() -> None:
        raise Conflict("Somebody was faster.")

    answer = undone(request, refuse, said="Taken back.", back="/s/clinic/alerts")
    assert answer["Location"] == "/s/clinic/alerts"
    assert "Somebody was faster." in page(request)
    assert "told-refused" in page(asked_again(request))


def asked_again(request: Any) -> Any:
    """The same messages, not yet shown."""
    request._messages.used = False
    return request


@pytest.mark.parametrize(
    "back", ["//evil.example/", "https://evil.example/", "/\\evil.example", "javascript:alert(1)", "today", "", "/" * 3]
)
def test_nobody_is_sent_to_another_server(back: str) -> None:
    """OWASP's cheat sheet on unvalidated redirects, from memory: what is sent must be a path of one's own."""
    assert go_back(asked("post", back=back), "/here")["Location"] == "/here"


def test_a_way_back_beyond_all_measure_is_cut_and_harms_nobody() -> None:
    assert len(go_back(asked("post", back="/" + "x" * 9000), "/here")["Location"]) == LONGEST_BACK


def test_an_undo_is_its_own_doers_and_of_the_last_minutes() -> None:
    must_be_ones_own_and_recent(done_by="Ana", done_at=MONDAY, who="Ana", now=MONDAY + UNDO_WITHIN)
    for done_by, done_at, later in (
        ("Ana", None, timedelta(0)),
        ("Ben", MONDAY, MINUTE),
        ("Ana", MONDAY, UNDO_WITHIN + MINUTE),
    ):
        with pytest.raises(Conflict):
            must_be_ones_own_and_recent(done_by=done_by, done_at=done_at, who="Ana", now=MONDAY + later)
