"""Spreaders: common practice of the trade, no publication. The shipping bar is never used as one."""

from inspections.standards.sources import PRACTICE

PER_FRAME = 2
PLACES = ("floor", "mid height")
SOURCE = PRACTICE
