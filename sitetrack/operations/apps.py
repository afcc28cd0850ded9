"""The operations app: health, figures, logs, backup, retention."""

from django.apps import AppConfig


class OperationsConfig(AppConfig):
    name = "sitetrack.operations"
    label = "operations"
