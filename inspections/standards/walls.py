"""Walls and the frames that wrap them: stud depths, boards, returns, and the room a throat should leave."""

from fractions import Fraction

from inspections.standards.limits import inches
from inspections.standards.sources import A250_8, ASTM_C1396, HMMA_861, PROFILE_PAGE, SSMA

STUD_DEPTHS = tuple(inches(depth, SSMA) for depth in ("13/8", "5/2", "29/8", "4", "6"))
BOARDS = tuple(inches(thickness, ASTM_C1396) for thickness in ("1/4", "3/8", "1/2", "5/8"))

RETURN_USUAL = inches("1/2", PROFILE_PAGE)
RETURN_5_3_4 = inches("7/16", PROFILE_PAGE)
SLACK_WANTED = inches("1/8", HMMA_861)

FACE = inches("2", A250_8)
STOP = inches("5/8", A250_8)
RABBET = inches(1 + Fraction(15, 16), A250_8)
