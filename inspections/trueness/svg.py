"""The few SVG marks the frame drawing is made of.

Presentation attributes and classes only: no style attribute and no style element, so that a strict content policy
holds; every text is escaped.
"""

from collections.abc import Iterable
from html import escape

Point = tuple[float, float]


def number(value: float) -> str:
    """A coordinate to the hundredth, without idle zeros."""
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def line(start: Point, end: Point, kind: str, *, width: float = 1, dash: str = "") -> str:
    """A straight line."""
    return (
        f'<line class="{kind}" x1="{number(start[0])}" y1="{number(start[1])}" x2="{number(end[0])}" '
        f'y2="{number(end[1])}" stroke="currentColor" stroke-width="{number(width)}"{_dashed(dash)}/>'
    )


def outline(points: Iterable[Point], kind: str, *, width: float = 1, dash: str = "", closed: bool = True) -> str:
    """A polygon, or a polyline when not `closed`; never filled."""
    name = "polygon" if closed else "polyline"
    path = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return (
        f'<{name} class="{kind}" points="{path}" fill="none" stroke="currentColor" '
        f'stroke-width="{number(width)}"{_dashed(dash)}/>'
    )


def block(centre: Point, size: tuple[float, float], kind: str) -> str:
    """A small filled rectangle about a centre."""
    left, top = centre[0] - size[0] / 2, centre[1] - size[1] / 2
    return (
        f'<rect class="{kind}" x="{number(left)}" y="{number(top)}" width="{number(size[0])}" '
        f'height="{number(size[1])}" fill="currentColor"/>'
    )


def text(at: Point, words: str, kind: str, *, anchor: str = "middle", size: float = 9) -> str:
    """Words at a point; `anchor` is start, middle or end."""
    return (
        f'<text class="{kind}" x="{number(at[0])}" y="{number(at[1])}" font-size="{number(size)}" '
        f'text-anchor="{anchor}" fill="currentColor">{escape(words)}</text>'
    )


def dimension(start: Point, end: Point, words: str, *, label: Point, anchor: str = "middle") -> str:
    """A dimension line with a slanted tick at each end, as on a shop drawing, and its words at `label`."""
    ticks = "".join(line((x - 3, y + 3), (x + 3, y - 3), "tick") for x, y in (start, end))
    named = text(label, words, "dim-words", anchor=anchor)
    return f'<g class="dimension">{line(start, end, "dim", width=0.6)}{ticks}{named}</g>'


def warning(at: Point, where: str, words: str, *, anchor: str = "start") -> str:
    """A problem spot: a triangle with an exclamation mark, and beside it where and what; never by colour alone."""
    x, y = at
    triangle = outline(((x, y - 6), (x - 6, y + 5), (x + 6, y + 5)), "spot-mark", width=1.5)
    beside = x + 9 if anchor == "start" else x - 9
    lines = (
        text((beside, y + down), part, "spot-words", anchor=anchor, size=8.5)
        for part, down in ((where, -2.5), (words, 6.5))
    )
    return f'<g class="spot">{triangle}{text((x, y + 4), "!", "spot-sign", size=9)}{"".join(lines)}</g>'


def drawing(size: tuple[float, float], title: str, description: str, parts: Iterable[str]) -> str:
    """The whole picture; title and description are read out where it cannot be seen."""
    width, height = number(size[0]), number(size[1])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="frame-drawing" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(title)}" font-family="sans-serif"><title>{escape(title)}</title>'
        f"<desc>{escape(description)}</desc>{''.join(parts)}</svg>"
    )


def _dashed(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""
