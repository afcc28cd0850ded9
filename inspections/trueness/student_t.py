"""Student's t distribution, as far as an interval for a mean needs it.

P(|T| <= t) with v degrees of freedom is 1 - I(v/(v + t^2); v/2, 1/2), I the regularised incomplete beta function,
here by its continued fraction (see Abramowitz and Stegun, Handbook of Mathematical Functions, chapter 26).
"""

import math

_TINY = 1e-300
_CLOSE = 1e-15
_MOST_TERMS = 500
_HALVINGS = 200


def t_quantile(confidence: float, degrees: int) -> float:
    """The t that |T| stays within with probability `confidence`; 0 < confidence < 1 and at least one degree."""
    if not 0 < confidence < 1 or degrees < 1:
        raise ValueError(f"confidence {confidence} with {degrees} degrees of freedom: expected 0 to 1 and at least 1")
    low, high = 0.0, 1.0
    while two_sided(high, degrees) < confidence:
        high *= 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if two_sided(middle, degrees) < confidence else (low, middle)
    return (low + high) / 2


def two_sided(t: float, degrees: int) -> float:
    """P(|T| <= t)."""
    return 1 - incomplete_beta(degrees / (degrees + t * t), degrees / 2, 0.5)


def incomplete_beta(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function I(x; a, b) for 0 <= x <= 1."""
    if x <= 0 or x >= 1:
        return min(1.0, max(0.0, x))
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    # The fraction converges quickly on one side of the mean; the other side is its mirror image.
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(x, a, b) / a
    return 1 - front * _fraction(1 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction, from the top down (modified Lentz)."""
    c, d = 1.0, _away_from_zero(1 - (a + b) * x / (a + 1))
    d = 1 / d
    value = d
    for m in range(1, _MOST_TERMS):
        for part in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / _away_from_zero(1 + part * d)
            c = _away_from_zero(1 + part / c)
            value *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return value


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
