"""Progress drawn as a dimension line: the whole work is the dimension, what is done is inked over it."""

LENGTH = 200
LEFT = 6


def progress_line(percent: int, time_gone: int | None = None) -> str:
    """SVG of `percent` of the work done, 0 to 100, with a mark where `time_gone` per cent of the days are past."""
    done = LEFT + LENGTH * max(0, min(100, percent)) / 100
    end = LEFT + LENGTH
    parts = [f'<path class="dim-line" d="M{LEFT} 4v16M{end} 4v16M{LEFT} 12H{end}"/>']
    parts.append(f'<path class="dim-tick" d="M{LEFT - 4} 16l8 -8M{end - 4} 16l8 -8"/>')
    if percent > 0:
        parts.append(f'<path class="dim-done" d="M{LEFT} 12H{done:g}"/>')
    if time_gone is not None:
        x = LEFT + LENGTH * max(0, min(100, time_gone)) / 100
        parts.append(f'<path class="dim-today" d="M{x:g} 8l-4 -7h8zM{x:g} 8v8"/>')
    box = f'viewBox="0 0 {LENGTH + 2 * LEFT} 24" preserveAspectRatio="xMinYMid"'
    return f'<svg class="dim" {box} aria-hidden="true" focusable="false">{"".join(parts)}</svg>'
