"""Cubics, many trials at once: points are complex numbers (u + iv, mm), the first axis counts the trials.

A line of a piece is one cubic from its end points, its directions there and two reaches; it has at most one change of
hollow and, with reaches near a third of its length, one bend. Lengths by Gauss-Legendre quadrature.
"""

import numpy as np
import numpy.typing as npt

Complex = npt.NDArray[np.complexfloating]
Real = npt.NDArray[np.floating]

STATIONS: Real = np.linspace(0.0, 1.0, 33)
_GAUSS_AT, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(16)
_GAUSS_AT = (_GAUSS_AT + 1.0) / 2.0
_GAUSS_WEIGHT = _GAUSS_WEIGHT / 2.0


def cubic_nodes(start: Complex, way_in: Complex, end: Complex, way_out: Complex, reach: tuple[Real, Real]) -> Complex:
    """Nodes (B, 4) of cubics that leave ``start`` along ``way_in`` and reach ``end`` along ``way_out`` (unit)."""
    return np.stack([start, start + reach[0] * way_in, end - reach[1] * way_out, end], axis=-1)


def points_at(nodes: Complex, t: Real) -> Complex:
    """Points (B, S) at parameters ``t`` ((S,) or (B, S))."""
    a, b, c, d = (nodes[..., k, None] for k in range(4))
    s = 1.0 - t
    return np.asarray(s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d)


def slopes_at(nodes: Complex, t: Real) -> Complex:
    """First derivatives (B, S) by the parameter."""
    a, b, c = (nodes[..., k + 1, None] - nodes[..., k, None] for k in range(3))
    s = 1.0 - t
    return np.asarray(3.0 * (s * s * a + 2.0 * s * t * b + t * t * c))


def curvatures(nodes: Complex, t: Real = STATIONS) -> Real:
    """Signed curvature (B, S) in 1/mm, positive where the line bends to the left."""
    a, b, c = (nodes[..., k + 1, None] - nodes[..., k, None] for k in range(3))
    bent = 6.0 * ((1.0 - t) * (b - a) + t * (c - b))
    slope = slopes_at(nodes, t)
    return np.asarray((slope.conj() * bent).imag / np.maximum(np.abs(slope), 1e-6) ** 3)


def lengths(nodes: Complex) -> Real:
    """Lengths (B,)."""
    return np.asarray(np.abs(slopes_at(nodes, _GAUSS_AT)) @ _GAUSS_WEIGHT)


def root(nodes: Complex, origin: Complex, way: Complex) -> Real:
    """Parameter (B,) where cubics meet the ray from ``origin`` along ``way``; the nearest to it where they do not."""
    turned = (points_at(nodes, STATIONS) - origin[:, None]) * way.conj()[:, None]
    off, ahead = turned.imag, turned.real
    crossed = (off[:, 1:] * off[:, :-1] <= 0.0) & (ahead[:, 1:] > 0.0)
    index = np.where(crossed.any(1), crossed.argmax(1), np.abs(off).argmin(1).clip(1, len(STATIONS) - 2))
    each = np.arange(len(off))
    here, there = off[each, index], off[each, index + 1]
    step = here - there
    share = np.where(np.abs(step) > 1e-12, here / np.where(np.abs(step) > 1e-12, step, 1.0), 0.5)
    t = STATIONS[index] + np.clip(share, 0.0, 1.0) * (STATIONS[1] - STATIONS[0])
    for _ in range(3):
        value = ((points_at(nodes, t[:, None])[:, 0] - origin) * way.conj()).imag
        slope = (slopes_at(nodes, t[:, None])[:, 0] * way.conj()).imag
        t = np.clip(t - value / np.where(np.abs(slope) > 1e-9, slope, 1e9), 0.0, 1.0)
    return np.asarray(t)
