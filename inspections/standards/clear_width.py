"""What a leaf standing at 90 degrees takes from the opening, for an ordinary butt hinge: geometry, nobody prints it."""

from inspections.standards.limits import inches
from inspections.standards.sources import GEOMETRY

STOP = inches("5/8", GEOMETRY)
LEAF = inches("7/4", GEOMETRY)
PIN = inches("3/4", GEOMETRY)
REST = inches("1/16", GEOMETRY)
