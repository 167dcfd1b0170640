"""How women's measurements go together: means and covariances of a published survey, on the logarithm of mm.

Source: ANSUR II, US Army 2010-2012, women, n = 1986 (NATICK/TR-15/007, approved for public release). Caveats: soldiers;
the waist is taken at the navel, lower and larger than a dressmaker's, and the back waist length goes down to it; the
upper arm is flexed; the inside leg is the crotch's height,
to the flesh, less an inch. Logarithms, because girths are skewed and their spread grows with their size.
"""

import csv
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SURVEY_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "bust": "chestcircumference",
        "waist": "waistcircumference",
        "hip": "buttockcircumference",
        "neck": "neckcircumferencebase",
        "back waist length": "waistbacklength",
        "shoulder length": "shoulderlength",
        "across back": "interscyei",
        "arm length": "sleeveoutseam",
        "upper arm": "bicepscircumferenceflexed",
        "wrist": "wristcircumference",
        "inside leg": "crotchheight",
        "thigh": "thighcircumference",
        "height": "stature",
    }
)

_CROTCH_TO_TAPE_MM = 25.0
"""What a tape held at the crotch reads less than the survey's blade pressed up to it: an inch, common practice."""

WAIST_TO_HIP_MM = 203.2
"""8 in, where nobody tells: charts take the hip 7 to 9 in below the waist."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Statistics:
    """Mean (K,) and covariance (K, K) of the natural logarithms of K measurements in mm, and what they rest on."""

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    n: int
    source: str

    def __post_init__(self) -> None:
        for named in ("mean", "covariance"):
            kept = np.array(getattr(self, named), float)
            kept.setflags(write=False)
            object.__setattr__(self, named, kept)

    def at(self, names: Sequence[str]) -> list[int]:
        """Positions of names; programmer's ``ValueError`` if one is missing."""
        return [self.names.index(name) for name in names]


@dataclass(frozen=True, slots=True, kw_only=True)
class _OwnRule:
    """A measurement the survey has not, in proportion to those it has: level (mm) where the drivers have theirs."""

    name: str
    mm: float
    drivers: tuple[tuple[str, float, float], ...]  # name, its mm, slope of the logarithms
    spread: float  # standard deviation of the logarithm, wide on purpose
    source: str


_OWN_RULES = (
    _OwnRule(
        name="high bust",
        mm=863.6,
        drivers=(("bust", 914.4, 1.06),),
        spread=0.03,
        source="misses chart since 1968: 2 in below the bust; spread about one cup (1 in)",
    ),
    _OwnRule(
        name="under bust",
        mm=762.0,
        drivers=(("bust", 920.75, 1.10),),
        spread=0.04,
        source="ASTM D5585-11 table 1: 30 in at bust 36 1/4, slope from 33 to 40 3/8 in",
    ),
    _OwnRule(
        name="front waist length",
        mm=428.0,
        drivers=(("back waist length", 410.0, 0.8), ("bust", 914.4, 0.25)),
        spread=0.05,
        source="common practice: a little longer than the back, more so over a fuller bust",
    ),
    _OwnRule(
        name="across chest",
        mm=340.0,
        drivers=(("across back", 362.0, 0.9),),
        spread=0.06,
        source="common practice: about 2 cm less than across the back",
    ),
    _OwnRule(
        name="armhole depth",
        mm=200.0,
        drivers=(("bust", 914.4, 0.45), ("height", 1650.0, 0.4)),
        spread=0.09,
        source="common practice: a tenth of the bust and 11 cm; handbooks differ",
    ),
    _OwnRule(
        name="bust point distance",
        mm=186.0,
        drivers=(("bust", 914.4, 0.45),),
        spread=0.08,
        source="common practice: about a fifth of the bust",
    ),
    _OwnRule(
        name="bust height",
        mm=265.0,
        drivers=(("bust", 914.4, 0.4), ("height", 1650.0, 0.3)),
        spread=0.08,
        source="common practice: a little over a quarter of the bust",
    ),
    _OwnRule(
        name="elbow",
        mm=270.0,
        drivers=(("upper arm", 300.0, 0.6),),
        spread=0.08,
        source="common practice",
    ),
    _OwnRule(
        name="waist to hip",
        mm=WAIST_TO_HIP_MM,
        drivers=(("height", 1664.0, 1.0),),
        spread=0.10,
        source="common practice: 7 to 9 in; The New Dressmaker, 1921, takes 7 in",
    ),
    _OwnRule(
        name="body rise",
        mm=264.0,
        drivers=(("height", 1664.0, 0.7), ("hip", 965.0, 0.3)),
        spread=0.06,
        source="common practice: the survey's rise ends at the navel and is taken standing, so only its slopes tell",
    ),
    _OwnRule(
        name="outside leg",
        mm=1030.0,
        drivers=(("height", 1664.0, 0.35), ("inside leg", 778.0, 0.65)),
        spread=0.02,
        source="common practice; slopes of the survey's height of the navel",
    ),
    _OwnRule(
        name="crotch length",
        mm=690.0,
        drivers=(("hip", 965.0, 0.6), ("height", 1664.0, 0.4)),
        spread=0.06,
        source="common practice: twice the body rise and a sixth of the hip",
    ),
    _OwnRule(
        name="knee",
        mm=368.0,
        drivers=(("thigh", 570.0, 0.6),),
        spread=0.06,
        source="common practice: a little under two thirds of the thigh",
    ),
    _OwnRule(
        name="ankle",
        mm=234.0,
        drivers=(("wrist", 155.0, 0.8),),
        spread=0.06,
        source="common practice: about one and a half times the wrist",
    ),
)
OWN_RULES: Mapping[str, str] = MappingProxyType({rule.name: rule.source for rule in _OWN_RULES})


def read_survey(path: Path | str) -> Array:
    """The survey's women (N, 13), mm, columns in the order of ``SURVEY_COLUMNS``."""
    with Path(path).open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    women = np.array([[float(row[column]) for column in SURVEY_COLUMNS.values()] for row in rows])
    women[:, tuple(SURVEY_COLUMNS).index("inside leg")] -= _CROTCH_TO_TAPE_MM
    return women


def survey_statistics(women_mm: Array) -> Statistics:
    """Statistics of women (N, 13) as :func:`read_survey` gives them."""
    logs = np.log(np.asarray(women_mm, float))
    return Statistics(
        names=tuple(SURVEY_COLUMNS),
        mean=logs.mean(axis=0),
        covariance=np.cov(logs.T),
        n=len(logs),
        source="ANSUR II, US Army 2010-2012, women (NATICK/TR-15/007)",
    )


def statistics_text(found: Statistics) -> str:
    """Statistics as the TOML data file that the program carries (the survey itself is not carried)."""
    rows = "\n".join(f"  [{', '.join(f'{value:.4e}' for value in row)}]," for row in found.covariance)
    names = ", ".join(f'"{name}"' for name in found.names)
    means = ", ".join(f"{value:.6f}" for value in found.mean)
    return "\n".join(
        (
            "# Computed from the women of ANSUR II (US Army 2010-2012, NATICK/TR-15/007, approved for public release).",
            "# Mean and covariance of the natural logarithm of each measurement in mm.",
            f'source = "{found.source}"',
            f"n = {found.n}",
            f"names = [{names}]",
            f"mean = [{means}]",
            f"covariance = [\n{rows}\n]",
            "",
        )
    )


@cache
def stored_statistics() -> Statistics:
    """The survey's statistics as the program carries them."""
    data = tomllib.loads(files("convert.body").joinpath("ansur2.toml").read_text(encoding="utf-8"))
    return Statistics(
        names=tuple(data["names"]),
        mean=np.array(data["mean"]),
        covariance=np.array(data["covariance"]),
        n=data["n"],
        source=data["source"],
    )


def with_own_rules(survey: Statistics) -> Statistics:
    """The same with the measurements a survey of soldiers lacks, in proportion, with wide limits of our own.

    Each is a linear function of the survey's logarithms and a spread of its own, so that the whole stays one normal
    distribution.
    """
    k, more = len(survey.names), len(_OWN_RULES)
    mean = np.concatenate([survey.mean, np.zeros(more)])
    slopes = np.zeros((more, k))
    for i, rule in enumerate(_OWN_RULES):
        level = np.log(rule.mm)
        for name, mm, slope in rule.drivers:
            j = survey.names.index(name)
            slopes[i, j] = slope
            level += slope * (survey.mean[j] - np.log(mm))
        mean[k + i] = level
    across = slopes @ survey.covariance
    own = across @ slopes.T + np.diag([rule.spread**2 for rule in _OWN_RULES])
    return Statistics(
        names=(*survey.names, *(rule.name for rule in _OWN_RULES)),
        mean=mean,
        covariance=np.block([[survey.covariance, across.T], [across, own]]),
        n=survey.n,
        source=f"{survey.source}; further measurements by rules of our own",
    )
