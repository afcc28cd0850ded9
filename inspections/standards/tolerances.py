"""Limits an installed frame is judged by.

The four installation tolerances are read; a frame's own width tolerance is a factory figure, from memory, and serves
here only because no publication read gives one for the set frame.
"""

from inspections.standards.limits import inches
from inspections.standards.sources import PRACTICE, PROJECT_SPEC, SDI_117

SQUARENESS = inches("1/16", PROJECT_SPEC)
ALIGNMENT = inches("1/16", PROJECT_SPEC)
TWIST = inches("1/16", PROJECT_SPEC)
PLUMB = inches("1/16", PROJECT_SPEC)
WIDTH_OVER = inches("1/16", SDI_117)
WIDTH_UNDER = inches("1/32", SDI_117)

# Four readings each taken to the nearest 1/32 in can differ by 1/8 in from what ties them together and still be right.
DISAGREEMENT = inches("1/8", PRACTICE)
