"""Addresses of a site's people; part of the set-up's."""

from django.urls import path

from sitetrack.desk import people_pages

urlpatterns = [
    path("s/<slug:code>/people", people_pages.people, name="people"),
    path("s/<slug:code>/people/invite", people_pages.ask, name="person-invite"),
    path("s/<slug:code>/people/<uuid:standing_id>", people_pages.person, name="person"),
    path("s/<slug:code>/people/<uuid:standing_id>/remove", people_pages.remove, name="person-remove"),
    path("s/<slug:code>/invitations/<uuid:row_id>/again", people_pages.send_again, name="invitation-again"),
    path("s/<slug:code>/invitations/<uuid:row_id>/withdraw", people_pages.withdraw, name="invitation-withdraw"),
]
