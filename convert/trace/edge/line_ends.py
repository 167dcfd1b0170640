"""Where the mat's own lines end at the paper: a printed rim parts them from it, however much it is like the mat.

On a mat as dark as ink the rim can't be told from the mat beside it, and a telephone's haloes are as dark again. Where
a light line of the mat runs up to the paper, it stops at the rim's outer side, and the rim shows between the two.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.lattice.mat import Lattice
from convert.trace.edge.rim import Rim, as_light, model

Values = npt.NDArray[np.float64]

_STEEP = np.cos(np.radians(35.0))  # a line that meets the edge flatter than this is under its blur for too long
_REACH_MM = (-1.9, 2.8)  # of the mean profile
_BIN_MM = 0.1
_FEWEST = 10  # samples in each of its places: places lie closer than samples of one profile
_ENOUGH = 24  # such places
_PLAIN_MM = 1.5  # from here outwards nothing but the line
_UNLIKE = 60.0  # pixel values by which a line differs from the mat, for its end to tell anything
_NOISE = 6.0  # pixel values: a line is thin, and lies a little aside of where it should
_CLEARER = 0.8  # of a plain edge's misfit, what a rim leaves of it at most


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineEnds:
    """The mean profile (K, 3), red, green, blue, along mat's lines that run up to the paper; ``colour`` (3,) theirs.

    ``x`` (K,) mm outwards from where the edge's plain profile crosses from paper to mat.
    """

    x: Values
    profile: Values
    colour: Values


def line_ends(
    profiles: Values, at: Points, x: Values, crossing: Values, lattice: Lattice | None, mat: Values
) -> LineEnds | None:
    """The ends of the mat's lines in profiles (N, X, 3) taken at places (N, X, 2) mm, ``x`` (X,) mm outwards.

    ``crossing`` (N,) is where each profile goes over from paper to ``mat`` (3,). None where no line tells anything.
    """
    if lattice is None or lattice.kind != "lines":
        return None
    on = _along_lines(at, lattice)
    colours, places = profiles[on], (x[None] - crossing[:, None])[on]
    outer = colours[places > _PLAIN_MM]
    if len(outer) < _FEWEST or float(np.hypot.reduce(np.median(outer, 0) - mat)) < _UNLIKE:
        return None
    bins = np.arange(round(_REACH_MM[0] / _BIN_MM), round(_REACH_MM[1] / _BIN_MM) + 1)
    number = np.rint(places / _BIN_MM).astype(int)
    found = [(index * _BIN_MM, colours[number == index]) for index in bins]
    kept = [(place, part.mean(0)) for place, part in found if len(part) >= _FEWEST]
    if len(kept) < _ENOUGH:
        return None
    return LineEnds(
        x=np.array([place for place, _ in kept]),
        profile=np.array([mean for _, mean in kept]),
        colour=np.median(outer, 0),
    )


def _along_lines(at: Points, lattice: Lattice) -> npt.NDArray[np.bool_]:
    """Which places (N, X) of profiles lie on a line of the lattice that runs as the profile does, or nearly."""
    along = at[:, -1] - at[:, 0]
    along = along / np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    on = np.zeros(at.shape[:-1], bool)
    ends = [(lattice.first_x, lattice.last_x, lattice.heavy_x), (lattice.first_y, lattice.last_y, lattice.heavy_y)]
    for axis, (first, last, heavy) in enumerate(ends):
        index = np.rint(at[..., axis] / lattice.pitches_mm[axis])
        width = np.full(index.shape, lattice.line_width_mm)
        if lattice.heavy_every:
            width[(index - heavy) % lattice.heavy_every == 0] = lattice.heavy_width_mm
        near = np.abs(at[..., axis] - index * lattice.pitches_mm[axis]) < width / 2
        steep = np.abs(along[:, 1 - axis]) > _STEEP
        on |= near & steep[:, None] & (index >= first) & (index <= last)
    return on


def show_rim(ends: LineEnds, plain: tuple[Rim, float], printed: tuple[Rim, float], paper: Values) -> bool:
    """Whether the lines' ends look as a printed edge makes them, each look given with the edge's place."""
    return _miss(ends, *printed, paper) < _CLEARER * _miss(ends, *plain, paper)


def _miss(ends: LineEnds, rim: Rim, edge: float, paper: Values) -> float:
    off = (as_light(ends.profile) - model(ends.x, edge, rim, ends.colour, paper)) / _NOISE
    return float(np.sqrt(1 + off**2).sum() - off.size)
