"""Addresses of signing in by code and of one's own account; part of the desk's."""

from django.urls import path

from sitetrack.desk import account_pages, entrance, invited_pages

urlpatterns = [
    path("sign-in/code", entrance.sign_in_code, name="sign-in-code"),
    path("sign-in/forgotten", invited_pages.forgotten, name="forgotten"),
    path("sign-in/new-password/<uuid:person_id>/<str:key>", invited_pages.new_password, name="new-password"),
    path("invited/<str:token>", invited_pages.invited, name="invited"),
    path("account", account_pages.account, name="account"),
    path("account/password", account_pages.change_password, name="change-password"),
    path("account/codes", account_pages.codes, name="codes"),
    path("account/codes/off", account_pages.codes_off, name="codes-off"),
    path("account/codes/recovery", account_pages.new_recovery_codes, name="recovery-codes"),
    path("account/sessions/end", account_pages.end_other_sessions, name="end-other-sessions"),
    path("account/sessions/<uuid:row_id>/end", account_pages.end_session, name="end-session"),
]
