"""The sign of a stage's state on the ladder; each state has its own shape, so that colour is never needed to tell them.

Pure. Read as a checker marks up a print: ticked off when done, crossed when failed, a run of dashes while it waits, an
arrowhead where work may begin, a bar where it is held.
"""

from collections.abc import Mapping

SHAPES: Mapping[str, str] = {
    "not needed": '<path class="sign-thin" d="M8 14h12"/>',
    "waiting": '<circle class="sign-dashed" cx="14" cy="14" r="8"/>',
    "ready": '<path class="sign-line" d="M7 5L22 14L7 23Z"/>',
    "underway": '<path class="sign-line" d="M7 5L22 14L7 23Z"/><path class="sign-solid" d="M7 14H22L7 23Z"/>',
    "done": '<path class="sign-line" d="M5 5h18v18h-18Z"/><path class="sign-strong" d="M8 14l5 5l8 -11"/>',
    "failed": '<path class="sign-red" d="M6 6l16 16M22 6l-16 16"/>',
    "outdated": '<path class="sign-dashed" d="M5 5h18v18h-18Z"/><path class="sign-red" d="M14 8v8M14 19v2"/>',
    "held": '<circle class="sign-line" cx="14" cy="14" r="9"/><path class="sign-bar" d="M3 14h22"/>',
}


def state_sign(state: str) -> str:
    """SVG of a state's sign; decoration beside the state's own word."""
    size = 'viewBox="0 0 28 28" width="28" height="28"'
    return f'<svg class="sign" {size} aria-hidden="true" focusable="false">{SHAPES.get(state, SHAPES["waiting"])}</svg>'
