"""Addresses of the schedule; within those of the desk."""

from django.urls import path

from sitetrack.desk import schedule_compare_pages, schedule_edit_pages, schedule_many_pages, schedule_pages

urlpatterns = [
    path("s/<slug:code>/schedule", schedule_pages.schedule, name="schedule"),
    path("s/<slug:code>/schedule/files/<uuid:draft_id>", schedule_pages.held_file, name="schedule-draft"),
    path("s/<slug:code>/schedule/files/<uuid:draft_id>/progress", schedule_pages.progress, name="schedule-progress"),
    path("s/<slug:code>/schedule/files/<uuid:draft_id>/take-in", schedule_pages.take_in, name="schedule-take-in"),
    path("s/<slug:code>/schedule/files/<uuid:draft_id>/let-go", schedule_pages.let_go, name="schedule-let-go"),
    path("s/<slug:code>/schedule/files/<uuid:draft_id>/again", schedule_pages.hold_again, name="schedule-hold-again"),
    path("s/<slug:code>/schedule/revisions/<int:n>", schedule_pages.revision, name="schedule-revision"),
    path("s/<slug:code>/schedule/compare", schedule_compare_pages.compare, name="schedule-compare"),
    path("s/<slug:code>/schedule/by-hand", schedule_compare_pages.by_hand, name="schedule-by-hand"),
    path("s/<slug:code>/schedule/by-hand/undo", schedule_edit_pages.undo, name="schedule-edit-undo"),
    path("s/<slug:code>/schedule/openings", schedule_many_pages.openings, name="schedule-openings"),
    path("s/<slug:code>/schedule/add", schedule_edit_pages.add, name="schedule-add"),
    path("s/<slug:code>/openings/<path:number>/edit", schedule_edit_pages.edit, name="opening-edit"),
    path("s/<slug:code>/openings/<path:number>/listed", schedule_edit_pages.listed, name="opening-listed"),
]
