"""The words for who a person is on a site, and which trades a company brings."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a person may do on one site."""

    SUPERVISOR = "supervisor", _("Supervisor")
    INSPECTOR = "inspector", _("Inspector")
    CREW = "crew", _("Crew")
    VIEWER = "viewer", _("Viewer")


class Trade(models.TextChoices):
    """Who does a stage."""

    FRAME_CREW = "frame_crew", _("Frame crew")
    FRAMING = "framing", _("Framing")
    ELECTRICIAN = "electrician", _("Electrician")
    DRYWALL = "drywall", _("Drywall")
    MASON = "mason", _("Mason")
    PAINTER = "painter", _("Painter")
    FLOORING = "flooring", _("Flooring")
    DOOR_HANGER = "door_hanger", _("Door hanger")
    SUPERVISOR = "supervisor", _("Supervisor")
    INSPECTOR = "inspector", _("Inspector")
