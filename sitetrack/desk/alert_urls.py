"""Addresses of the Alerts sheet and what belongs to it; within those of the desk."""

from django.urls import path

from sitetrack.desk import alert_mail_pages, alert_pages, mute_pages

urlpatterns = [
    path("s/<slug:code>/alerts", alert_pages.alerts, name="alerts"),
    path("s/<slug:code>/alerts/acknowledge", alert_pages.acknowledge_chosen, name="acknowledge-chosen"),
    path("s/<slug:code>/alerts/unacknowledge", alert_pages.unacknowledge_chosen, name="unacknowledge-chosen"),
    path("s/<slug:code>/alerts/mutes", mute_pages.mutes, name="mutes"),
    path("s/<slug:code>/alerts/mutes/<uuid:mute_id>/lift", mute_pages.lift, name="mute-lift"),
    path("s/<slug:code>/alerts/mutes/<uuid:mute_id>/back", mute_pages.put_back, name="mute-back"),
    path("s/<slug:code>/alerts/mail", alert_mail_pages.alert_mail, name="alert-mail"),
    path("s/<slug:code>/alerts/mail/<uuid:mail_id>/again", alert_mail_pages.mail_again, name="mail-again"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/mute", mute_pages.mute_here, name="mute"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/acknowledge", alert_pages.acknowledge_alert, name="acknowledge"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/unacknowledge", alert_pages.unacknowledge_alert, name="unacknowledge"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/close", alert_pages.close_alert, name="close"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/reopen", alert_pages.reopen_alert, name="reopen"),
]
