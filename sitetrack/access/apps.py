from django.apps import AppConfig


class AccessConfig(AppConfig):
    name = "sitetrack.access"
    label = "access"
    verbose_name = "People and phones"
