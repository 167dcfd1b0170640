"""A set drawn from a trial, and what it measures: the same measurements as the block's, many trials at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from convert.block.trued.bodice import HalfLines, across_at, half_lines
from convert.block.trued.curve import STATIONS, Complex, Real, points_at, root
from convert.block.trued.plan import Plan
from convert.block.trued.skirt import skirt_lines
from convert.block.trued.sleeve import SleeveLines, sleeve_lines
from convert.block.trued.unknowns import Trial


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """Halves by kind, and the sleeve."""

    halves: Mapping[str, HalfLines]
    sleeve: SleeveLines | None


def draw(plan: Plan, trial: Trial) -> Drawn:
    """The whole set drawn."""
    halves, sleeve = {}, None
    for kind, darts in plan.darts.items():
        if kind == "sleeve":
            sleeve = sleeve_lines(trial)
        elif kind.startswith("bodice"):
            halves[kind] = half_lines(trial, kind, darts, paired=plan.paired(kind))
        else:
            halves[kind] = skirt_lines(trial, kind, darts, plan.hip_mm, paired=plan.paired(kind))
    return Drawn(halves=halves, sleeve=sleeve)


def total(values: Iterable[Real]) -> Real:
    """Sum (B,) of several values."""
    return np.asarray(np.sum(list(values), axis=0))


def handed_on(drawn: Drawn) -> dict[str, Real]:
    """What sleeve and skirt need to know of the bodice (B,): armholes, waists, where the waist darts lie."""
    out = {}
    for side in ("front", "back"):
        half = drawn.halves.get(f"bodice {side}")
        if half is not None:
            waist = half.lines["waist"]
            out[f"{side} armhole"], out[f"{side} waist"] = half.lines["armhole"].sewn, waist.sewn
            out |= {f"{side} dart {i}": waist.sewn_to(i) for i in range(len(waist.folds))}
    return out


def measured(drawn: Drawn, trial: Trial, known: Mapping[str, float]) -> dict[str, Real]:
    """Measurements (B,) by name, as :func:`convert.block.measure.measure_shapes` takes them, and pairs of seams."""
    out: dict[str, Real] = {}
    front, back = (drawn.halves.get(f"bodice {side}") for side in ("front", "back"))
    if front is not None:
        out |= _of_front(trial, front)
    if back is not None:
        out |= _of_back(back)
    if front is not None and back is not None:
        both = (front, back)
        out["bust"] = 2.0 * total(across_at(half, half.corners["under"]) for half in both)
        out["waist"] = 2.0 * total(half.lines["waist"].sewn for half in both)
        out["neck"] = 2.0 * total(half.lines["neckline"].sewn for half in both)
        for name, edge in (("shoulder", "shoulder"), ("side seam", "side seam")):
            out[f"{name}, back longer"] = back.lines[edge].sewn - front.lines[edge].sewn
    for half, kind in ((front, "bodice front"), (back, "bodice back")):
        if half is not None:
            out[f"bust of the {kind}"] = across_at(half, half.corners["under"])
            out[f"waist of the {kind}"] = half.lines["waist"].sewn
            out[f"neck of the {kind}"] = half.lines["neckline"].sewn
    return out | _of_skirt(drawn, trial) | _of_sleeve(drawn, trial, known)


def _crossing(half: HalfLines, height: Real) -> Complex:
    """Where the armhole lies at a height (B,), on the open paper."""
    line = half.lines["armhole"]
    if not line.folds:
        t = root(line.nodes, 1j * height, np.ones_like(height) + 0j)
        return np.asarray(points_at(line.nodes, t[:, None])[:, 0])
    points = line.open_points(STATIONS, 0)
    for i, t in enumerate(line.crossings):
        points = np.where(t[:, None] < STATIONS, line.open_points(STATIONS, i + 1), points)
    off = (points.imag - height[:, None])[:, ::-1]  # from the underarm
    index = (off[:, 1:] * off[:, :-1] <= 0.0).argmax(1)
    each, last = np.arange(len(off)), points.shape[1] - 1
    low, high = off[each, index], off[each, index + 1]
    share = np.clip(low / np.where(np.abs(low - high) > 1e-9, low - high, 1.0), 0.0, 1.0)
    here, there = points[each, last - index], points[each, last - index - 1]
    return np.asarray(here + share * (there - here))


def _of_front(trial: Trial, front: HalfLines) -> dict[str, Real]:
    corners = front.corners
    out = {"front waist length": corners["snp"].imag, "shoulder length": front.lines["shoulder"].sewn}
    out["across chest"] = 2.0 * across_at(front, _crossing(front, (corners["tip"] + corners["under"]).imag / 2.0))
    if "bodice front bust u" in trial:
        point = trial["bodice front bust u"] + 1j * trial["bodice front bust v"]
        out["bust point distance"] = 2.0 * point.real
        out["bust height"] = np.abs(point - corners["snp"])
    return out


def _of_back(back: HalfLines) -> dict[str, Real]:
    corners = back.corners
    return {
        "back waist length": corners["neck"].imag,
        "armhole depth": (corners["neck"] - corners["under"]).imag,
        "across back": 2.0 * across_at(back, _crossing(back, (corners["neck"] + corners["under"]).imag / 2.0)),
    }


def _of_skirt(drawn: Drawn, trial: Trial) -> dict[str, Real]:
    halves = {kind: half for kind, half in drawn.halves.items() if kind.startswith("skirt")}
    out = {}
    for kind, half in halves.items():
        out[f"waist of the {kind}"] = half.lines["waist"].sewn
        out[f"hip of the {kind}"] = half.corners["hip"].real
    if len(halves) == 2:
        front, back = halves["skirt front"], halves["skirt back"]
        out["hip"] = 2.0 * (front.corners["hip"] + back.corners["hip"]).real
        out["skirt waist"] = 2.0 * (front.lines["waist"].sewn + back.lines["waist"].sewn)
        out["skirt side, back longer"] = side_of_skirt(back) - side_of_skirt(front)
    if "skirt front" in halves:
        out["skirt length"] = trial["skirt front long"]
    return out


def side_of_skirt(half: HalfLines) -> Real:
    """Length (B,) of a skirt's side seam."""
    return half.lines["hip curve"].sewn + np.abs(half.corners["foot"] - half.corners["hip"])


def _of_sleeve(drawn: Drawn, trial: Trial, known: Mapping[str, float]) -> dict[str, Real]:
    sleeve = drawn.sleeve
    if sleeve is None:
        return {}
    lower = points_at(sleeve.lines["wrist"].nodes, np.array([0.5])).imag[:, 0]
    long, hem = trial["crown v"] - lower, sleeve.lines["wrist"].sewn
    out = {
        "upper arm": trial["sleeve wide"],
        "arm length": long,
        "wrist": hem,
        "sleeve length": long,
        "sleeve hem": hem,
    }
    if {"front armhole", "back armhole"} <= set(known):
        for side in ("front", "back"):
            out[f"{side} cap ease"] = sleeve.lines[f"{side} cap"].sewn - known[f"{side} armhole"]
        out["cap ease"] = out["front cap ease"] + out["back cap ease"]
    return out
