"""Papers to print on.

Source: ISO 216 (A sizes); ANSI/ASME Y14.1 (Letter 8 1/2 x 11 in, Tabloid 11 x 17 in); rolls are the plotter widths of
24 in (610 mm), A0 (841 mm) and 36 in (914 mm), *common practice*.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from calibration.ground.errors import WordsError
from calibration.ground.units import MM_PER_INCH

HOME_MARGIN_MM = 10.0  # common home printers leave 3 to 6 mm blank, some 10
SHOP_MARGIN_MM = 15.0
OVERLAP_MM = 10.0
OVERLAPS_MM = (8.0, 40.0)  # less has no room for the marks


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper format in mm; ``height`` is None for a roll, which is cut to the length needed.

    ``overlap`` is how far joined sheets lie over one another. ``tiled``: pieces run across sheets that are joined;
    otherwise each piece lies whole on one sheet where it can.
    """

    name: str
    width: float
    height: float | None
    margin: float = HOME_MARGIN_MM
    overlap: float = OVERLAP_MM
    tiled: bool = True


PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        paper.name.lower(): paper
        for paper in (
            Paper(name="A4", width=210.0, height=297.0),
            Paper(name="A3", width=297.0, height=420.0),
            Paper(name="Letter", width=8.5 * MM_PER_INCH, height=11 * MM_PER_INCH),
            Paper(name="Tabloid", width=11 * MM_PER_INCH, height=17 * MM_PER_INCH),
            Paper(name="A0", width=841.0, height=1189.0, margin=SHOP_MARGIN_MM, tiled=False),
            Paper(name="roll 610", width=610.0, height=None, margin=SHOP_MARGIN_MM, tiled=False),
            Paper(name="roll 841", width=841.0, height=None, margin=SHOP_MARGIN_MM, tiled=False),
            Paper(name="roll 914", width=914.0, height=None, margin=SHOP_MARGIN_MM, tiled=False),
        )
    }
)


def paper_named(name: str, *, overlap_mm: float | None = None) -> Paper:
    """The paper of that name, however it is capitalised.

    Raises
    ------
    WordsError
        If there is none, or sheets can't be joined with that overlap.
    """
    found = PAPERS.get(" ".join(name.lower().replace("-", " ").replace("mm", "").split()))
    if found is None:
        names = ", ".join(paper.name for paper in PAPERS.values())
        raise WordsError(f"“{name}” is not a paper that is known here.", f"Choose one of: {names}.")
    if overlap_mm is None:
        return found
    if not OVERLAPS_MM[0] <= overlap_mm <= OVERLAPS_MM[1]:
        raise WordsError(
            f"Sheets can't be joined with an overlap of {overlap_mm:g} mm.",
            f"Give one from {OVERLAPS_MM[0]:g} to {OVERLAPS_MM[1]:g} mm.",
        )
    return replace(found, overlap=overlap_mm)
