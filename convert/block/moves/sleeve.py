"""Moves on a sleeve: upper arm, wrist, length, crown. Points are in the shape's frame."""

import numpy as np

from calibration.ground.points import Points
from convert.block.moves.change import Change, Rule
from convert.block.shape.landmarks import cap_height, wrist_name
from convert.block.shape.shape import Shape, ramp


def _below(shape: Shape) -> tuple[float, float]:
    """Height of the wrist (negative), height of the crown."""
    low = float(shape.ring[shape.run(wrist_name(shape), "underarm seam front"), 1].min())
    return low, cap_height(shape)


def _widen_upper_arm(shape: Shape, amount: float) -> Change:
    """Spread evenly over the whole cap, as many narrow slashes from wrist to cap do; the wrist keeps its width."""
    half = abs(float(shape.ring[shape.corner("cap", "underarm seam front"), 0]))
    low, high = _below(shape)
    fade = ramp(shape.ring[:, 1], low, 0.0)
    ring = shape.ring.copy()
    ring[:, 0] += ring[:, 0] / half * amount / 2 * fade
    cuts = tuple(np.array([[u, low], [u, high * (1 - (u / half) ** 2)]]) for u in (-half / 2, 0.0, half / 2))
    return Change(after=shape.moved(ring=ring), cuts=cuts)


def _widen_wrist(shape: Shape, amount: float) -> Change:
    low, _ = _below(shape)
    half = max(abs(float(shape.ring[shape.corner(wrist_name(shape), "underarm seam front"), 0])), 1.0)
    fade = ramp(shape.ring[:, 1], 0.0, low)
    ring = shape.ring.copy()
    ring[:, 0] += ring[:, 0] / half * amount / 2 * fade
    return Change(after=shape.moved(ring=ring), cuts=(np.array([[0.0, low], [0.0, 0.0]]),))


def _lengthen(shape: Shape, amount: float) -> Change:
    low, _ = _below(shape)

    def down(points: Points) -> Points:
        out = np.array(points, float)
        out[:, 1] -= amount * ramp(out[:, 1], 0.0, low)
        return out

    wide = np.abs(shape.ring[:, 0]).max()
    cut = np.array([[-wide, low / 2], [wide, low / 2]])
    return Change(
        after=shape.moved(ring=down(shape.ring), apexes=down(shape.apexes), inner=down(shape.inner)), cuts=(cut,)
    )


def _raise_crown(shape: Shape, amount: float) -> Change:
    _, high = _below(shape)
    ring = shape.ring.copy()
    ring[:, 1] += amount * np.clip(ring[:, 1], 0.0, None) / high
    half = abs(float(shape.ring[shape.corner("cap", "underarm seam front"), 0]))
    return Change(after=shape.moved(ring=ring), cuts=(np.array([[-0.8 * half, high / 3], [0.8 * half, high / 3]]),))


def _even_seams(shape: Shape, amount: float) -> Change:
    """Front underarm seam longer by ``amount`` at the wrist, the back one shorter by as much."""
    low, _ = _below(shape)
    half = max(abs(float(shape.ring[shape.corner(wrist_name(shape), "underarm seam front"), 0])), 1.0)
    ring = shape.ring.copy()
    ring[:, 1] -= amount * ramp(ring[:, 1], 0.0, low) * np.clip(ring[:, 0] / half, -1.0, 1.0)
    return Change(after=shape.moved(ring=ring))


WIDEN_UPPER_ARM = Rule(
    name="widen or narrow the upper arm",
    where="lengthwise through the cap",
    more="Cut the sleeve lengthwise in narrow strips and spread them by {amount} together at the upper arm.",
    less="Cut the sleeve lengthwise in narrow strips and overlap them by {amount} together at the upper arm.",
    make=_widen_upper_arm,
)
WIDEN_WRIST = Rule(
    name="widen or narrow the wrist",
    where="underarm seams, at the wrist",
    more="Draw the wrist {amount} wider, half on each side.",
    less="Draw the wrist {amount} narrower, half on each side.",
    make=_widen_wrist,
)
LENGTHEN_SLEEVE = Rule(
    name="lengthen or shorten the sleeve",
    where="straight across between underarm and wrist",
    more="Cut the sleeve straight across below the underarm and spread by {amount}.",
    less="Cut the sleeve straight across below the underarm and overlap by {amount}.",
    make=_lengthen,
)
RAISE_CROWN = Rule(
    name="raise or lower the crown",
    where="straight across the cap",
    more="Cut the cap straight across and raise the crown by {amount}.",
    less="Cut the cap straight across and lower the crown by {amount}.",
    make=_raise_crown,
)
EVEN_SEAMS = Rule(
    name="even the underarm seams",
    where="wrist",
    more="Draw the wrist {amount} lower at the front seam and as much higher at the back seam.",
    less="Draw the wrist {amount} higher at the front seam and as much lower at the back seam.",
    make=_even_seams,
)
