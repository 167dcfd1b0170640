"""Invented pieces photographed and read back: how near, and how much better than general-purpose tools?

    python -m tests.bench.reading [--count 100] [--first 0] [--seeds ...] [--baselines 1] [--keep FOLDER] [--json FILE]

Prints a line for each picture, then the figures pooled over all. ``--baselines N`` runs GrabCut and potrace on every
N-th picture (0: on none). ``--keep`` keeps the pictures, so that the next run need not draw them again.
"""

import argparse
import json
import pickle
import sys
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from calibration.ground.errors import OwnblockError
from calibration.ground.files import write_atomically
from calibration.ground.points import Points
from calibration.joining.matching import best_rigid, moved
from convert.piece.names.told import Told
from convert.piece.outline.fit import fit_path
from convert.pipeline.look import Pictures, SheetRead, read_sheet, trace_sheet
from convert.pipeline.name import PieceRead, read_piece
from convert.trace.tracing import Tracing
from tests.bench.baselines import contour_of, grabcut_mask, potrace_of
from tests.bench.invented import Invented
from tests.bench.measured import Counts, Fit, Matrix, even, lay, match
from tests.bench.phone import by_messenger, by_phone
from tests.bench.photographed import Photographed, photograph

_LOST_MM = 4.0  # an outline so far off is not the piece's
_TOLERANCES_MM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 0.8, 1.2, 2.0)
EASY_OVER_MM, HARD_OVER_MM = 0.06, 0.15


@dataclass(kw_only=True)
class Result:
    """One piece's figures; ``problem`` where it was not read."""

    seed: int
    about: str
    family: str
    hard: bool
    problem: str = ""
    rms: float = float("nan")
    floor: float = float("nan")
    within: float = float("nan")
    scale: float = float("nan")
    notches: Counts = field(default_factory=Counts)
    holes: Counts = field(default_factory=Counts)
    darts: Counts = field(default_factory=Counts)
    grain_deg: float | None = None
    allowances: list[float] = field(default_factory=list)
    grabcut: float | None = None
    potrace: float | None = None
    as_seen: tuple[float, float, float] | None = None
    nodes: tuple[int, int] | None = None
    seconds: float = 0.0

    @property
    def over(self) -> float:
        """RMS beyond what the paper's lift alone costs, mm."""
        return self.rms - self.floor


def read_one(picture: Photographed, *, baselines: bool) -> list[Result]:
    """Each piece of a picture, read as a maker would have it read."""
    results = [
        Result(seed=picture.seed, about=picture.about, family=paper.family, hard=picture.hard)
        for paper in picture.papers
    ]
    start = time.perf_counter()
    try:
        with TemporaryDirectory() as folder:
            path = Path(folder) / "photo.jpg"
            path.write_bytes(picture.jpeg.tobytes())
            sheet = read_sheet(Pictures(paths=(path,), pitch_mm=picture.pitch_mm))
        tracings = trace_sheet(sheet, size=picture.papers[0].size)
    except OwnblockError as err:
        for one in results:
            one.problem = err.problem
        return results
    for one, paper in zip(results, picture.papers, strict=True):
        _measure(one, picture, paper, sheet, tracings, baselines)
        one.seconds = time.perf_counter() - start
    return results


def picture_of(seed: int, kept: Path | None) -> Photographed:
    """The picture of a seed, drawn once if there is a folder to keep it in."""
    if kept is None:
        return photograph(seed)
    path = kept / f"{seed}.pickle"
    if not path.exists():
        kept.mkdir(parents=True, exist_ok=True)
        write_atomically(path, pickle.dumps(photograph(seed)))
    picture = pickle.loads(path.read_bytes())
    assert isinstance(picture, Photographed)
    return picture


def _start(picture: Photographed, sheet: SheetRead, about: Points) -> Matrix:
    """About how our mat lies on the true one: by rigid fit of what both views say of some pixels."""
    px = picture.view.to_px(about)
    return best_rigid(sheet.views[0].to_mm(px), about)


def _measure(
    one: Result,
    picture: Photographed,
    paper: Invented,
    sheet: SheetRead,
    tracings: tuple[Tracing, ...],
    baselines: bool,
) -> None:
    start = _start(picture, sheet, paper.cut[::20])
    middle = paper.cut.mean(0)
    tracing = min(tracings, key=lambda t: float(np.hypot(*(moved(t.outline, start).mean(0) - middle))))
    fit = lay(tracing.outline, paper.cut, start, away=paper.damage)
    one.rms, one.within = fit.rms, fit.within
    seen = lay(picture.seen_at(even(paper.cut, 1.0)), paper.cut, np.eye(3), away=paper.damage)
    one.floor, one.scale = seen.rms, fit.scale_percent - seen.scale_percent
    if baselines:
        _compare(one, picture, paper, sheet, tracing, start)
    if fit.rms > _LOST_MM:
        one.problem = f"the outline is {fit.rms:.1f} mm off"
    try:
        read = read_piece(tracing, sheet, paper.kind, _told(paper))
    except OwnblockError as err:
        one.problem = one.problem or err.problem
        one.notches = match(_notches(tracing, fit), paper.notches)
        return
    _marks(one, picture, paper, tracing, read, fit)


def _told(paper: Invented) -> Told:
    """What the instruction sheet says, where no stitching line is printed; whether the centre lies on a fold."""
    if paper.allowances:
        return Told(fold=paper.fold)
    return Told(fold=paper.fold, allowances=paper.told)


def _notches(tracing: Tracing, fit: Fit) -> Points:
    return moved(np.array([m.at for m in tracing.marks if m.kind == "notch"]).reshape(-1, 2), fit.move)


def _marks(one: Result, picture: Photographed, paper: Invented, tracing: Tracing, read: PieceRead, fit: Fit) -> None:
    place = read.piece.placement
    assert place is not None

    def there(points: Points) -> Points:
        return moved(place.to_mat(np.reshape(points, (-1, 2))), fit.move)

    near_gone = np.array([at for at, _ in (*picture.weights, *paper.damage)]).reshape(-1, 2)
    one.notches = match(_notches(tracing, fit), paper.notches, pardoned=near_gone)
    found = moved(np.array([m.at for m in tracing.marks if m.kind == "hole"]).reshape(-1, 2), fit.move)
    one.holes = match(found, np.array([at for at, _ in paper.holes]).reshape(-1, 2), pardoned=near_gone)
    wanted = [np.vstack([d.legs, d.apex]) for d in paper.darts if d.visible]
    pardoned = [np.vstack([d.legs, d.apex]) for d in paper.darts if not d.visible]
    points = [there(np.vstack([d.legs, d.apexes])) for d in read.piece.darts]
    # a dart known by its peak only is not asked for; where one is found it may lie a few mm off
    points = [p for p in points if not any(np.hypot(*(p - q).T).max() < 25.0 for q in pardoned if len(p) == len(q))]
    one.darts = match(np.vstack([np.zeros((0, 2)), *points]), np.vstack([np.zeros((0, 2)), *wanted]))
    if paper.grain is not None and read.piece.grainline is not None:
        way, true = np.diff(there(read.piece.grainline), axis=0)[0], np.diff(paper.grain, axis=0)[0]
        angle = np.degrees(np.arctan2(way[0] * true[1] - way[1] * true[0], way @ true))
        one.grain_deg = float(abs((angle + 90) % 180 - 90))
    for name, (mm, _) in paper.allowances.items():
        if read.piece.has(name):
            one.allowances.append(read.piece.edge(name).allowance.mm - mm)


def _compare(
    one: Result, picture: Photographed, paper: Invented, sheet: SheetRead, tracing: Tracing, start: Matrix
) -> None:
    """The same flat picture through GrabCut with findContours, and potrace; nodes at potrace's own error.

    ``as_seen`` are the errors of ours, GrabCut and potrace against where the edge is seen: what the paper's lift costs
    is the same for all three and left out.
    """
    back = np.linalg.inv(start)
    ring = moved(paper.cut, back)
    mask, small, corner = grabcut_mask(sheet.sheet, ring.min(0), ring.max(0))
    contour = contour_of(mask, small, corner)
    if len(contour) < 10:
        return
    one.grabcut = lay(contour, paper.cut, start, away=paper.damage).rms
    traced, nodes = potrace_of(mask, small, corner)
    one.potrace = lay(traced, paper.cut, start, away=paper.damage).rms
    seen = picture.seen_at(even(paper.cut, 1.0))
    ours, theirs, third = (lay(r, seen, start, away=paper.damage).rms for r in (tracing.outline, contour, traced))
    one.as_seen = (ours, theirs, third)
    for tolerance in _TOLERANCES_MM[::-1]:
        path = fit_path(tracing.outline, tracing.corners, tolerance_mm=tolerance)
        ours = lay(path.points(apart_mm=0.5), paper.cut, start, away=paper.damage).rms
        if ours <= one.potrace:
            one.nodes = (len(path.segments), nodes)
            return


# ---------------------------------------------------------------- telling


def line_of(one: Result) -> str:
    """One picture's figures in a line."""
    head = f"{one.seed:4d} {one.family:8s} {'hard' if one.hard else 'easy'} "
    if one.problem and not one.rms < _LOST_MM:
        return f"{head}NOT READ: {one.problem}  [{one.about}]"

    def marks(name: str, counts: Counts) -> str:
        return f" {name} {counts.right}/{counts.wanted}" + (f"+{counts.false}" if counts.false else "")

    text = f"{head}rms {one.rms:.3f} floor {one.floor:.3f} 95% {one.within:.2f} scale {one.scale:+.3f}"
    text += marks("notch", one.notches) + marks("hole", one.holes) + marks("dart", one.darts)
    if one.grain_deg is not None:
        text += f" grain {one.grain_deg:.2f}"
    if one.allowances:
        text += f" allow {max(np.abs(one.allowances)):.2f}"
    if one.grabcut is not None and one.potrace is not None:
        text += f" grabcut {one.grabcut:.2f} potrace {one.potrace:.2f} nodes {one.nodes}"
    return text + (f"  PROBLEM {one.problem}" if one.problem else "") + f"  [{one.about}]"


def summary(results: list[Result]) -> list[str]:
    """The figures pooled."""
    read = [one for one in results if one.rms < _LOST_MM]
    lines = [f"{len(results)} pieces, outline read {len(read)}, named {sum(not one.problem for one in results)}"]
    for name, some, over in (
        ("easy and medium", [one for one in read if not one.hard], EASY_OVER_MM),
        ("hard", [one for one in read if one.hard], HARD_OVER_MM),
    ):
        if not some:
            continue
        rms, floor = np.array([one.rms for one in some]), np.array([one.floor for one in some])
        within, scale = np.array([one.within for one in some]), np.array([abs(one.scale) for one in some])
        lines.append(
            f"{name}: {len(some)} pieces; RMS median {np.median(rms):.3f}, over the floor median "
            f"{np.median(rms - floor):+.3f}, within floor + {over} in {np.mean(rms <= floor + over):.0%}; 95 % within "
            f"0.45 mm in {np.mean(within <= 0.45):.0%}; scale within 0.06 % in {np.mean(scale <= 0.06):.0%} "
            f"(median {np.median(scale):.3f} %)"
        )
    for kind in ("notches", "holes", "darts"):
        total = sum((getattr(one, kind) for one in read), Counts())
        lines.append(f"{kind}: {total.wanted} asked for, recall {total.recall:.3f}, precision {total.precision:.3f}")
    grain = np.array([one.grain_deg for one in read if one.grain_deg is not None])
    if len(grain):
        lines.append(f"grain: {len(grain)}, within 0.3 degrees {np.mean(grain <= 0.3):.0%}, worst {grain.max():.2f}")
    wide = np.abs([mm for one in read for mm in one.allowances])
    if len(wide):
        lines.append(f"allowance: {len(wide)} edges, within 0.4 mm {np.mean(wide <= 0.4):.1%}, worst {wide.max():.2f}")
    lines += _against(read)
    return lines


def _against(read: list[Result]) -> list[str]:
    both = [one for one in read if one.grabcut is not None and one.potrace is not None]
    if not both:
        return []
    ours = np.array([one.rms for one in both])
    lines = []
    for name in ("grabcut", "potrace"):
        theirs = np.array([getattr(one, name) for one in both])
        lines.append(
            f"{name}: RMS median {np.median(theirs):.2f} mm, ours {np.median(ours):.2f}; as many times nearer: median "
            f"{np.median(theirs / ours):.1f}, at least 3 in {np.mean(theirs >= 3 * ours):.0%} of {len(both)}"
        )
    seen = np.array([one.as_seen for one in both if one.as_seen is not None])
    for k, name in ((1, "grabcut"), (2, "potrace")):
        lines.append(
            f"{name}, against where the edge is seen: RMS median {np.median(seen[:, k]):.2f} mm, ours "
            f"{np.median(seen[:, 0]):.2f}; median {np.median(seen[:, k] / seen[:, 0]):.1f} times nearer, at least 3 in "
            f"{np.mean(seen[:, k] >= 3 * seen[:, 0]):.0%}"
        )
    nodes = np.array([one.nodes for one in both if one.nodes is not None], float)
    if len(nodes):
        share = nodes[:, 0] / nodes[:, 1]
        lines.append(
            f"nodes at potrace's own error: ours {nodes[:, 0].sum():.0f}, potrace {nodes[:, 1].sum():.0f}; at most "
            f"half in {np.mean(share <= 0.5):.0%}, median share {np.median(share):.2f}"
        )
    return lines


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--baselines", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--seeds", type=int, nargs="*")
    parser.add_argument("--phone", action="store_true", help="sharpened and evened out as by a telephone")
    parser.add_argument("--messenger", action="store_true", help="and copied by a messenger")
    said = parser.parse_args()
    results: list[Result] = []
    for seed in said.seeds or range(said.first, said.first + said.count):
        compare = said.baselines > 0 and seed % said.baselines == 0
        picture = picture_of(seed, said.keep)
        picture = by_phone(picture) if said.phone or said.messenger else picture
        picture = by_messenger(picture) if said.messenger else picture
        try:
            some = read_one(picture, baselines=compare)
        except Exception as err:  # a fault of ours, which is a result too
            some = [
                Result(seed=seed, about=picture.about, family=paper.family, hard=picture.hard, problem=f"CRASH {err!r}")
                for paper in picture.papers
            ]
        for one in some:
            print(line_of(one), flush=True)
            results.append(one)
        if said.json:
            said.json.write_text(json.dumps([asdict(one) for one in results]), encoding="utf-8")
    print("\n" + "\n".join(summary(results)))


if __name__ == "__main__":
    sys.exit(main())
