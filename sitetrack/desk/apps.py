from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "sitetrack.desk"
    label = "desk"
    verbose_name = "Supervisor's desk"
