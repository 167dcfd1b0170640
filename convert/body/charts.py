"""Size charts: the body a pattern's size was drafted for. Data files in ``charts/``, each with source and status.

Status: *seen* (the figures were read at the source), *computed* (from a rule that was seen), *from memory* (nobody has
confirmed them), *own* (a maker's own chart).
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from calibration.ground.errors import InputError
from convert.body.card import LengthUnit
from convert.body.definitions import closest, definitions, measurement_name, plain
from convert.body.typed import read_toml, typed_length_mm
from convert.body.wording import format_body_mm, listed

DEFAULT_CHART = "misses since 1968"
# What a size is chosen by, most telling first: a bodice by the bust, a skirt by the hip.
_KEYS = ("bust", "hip", "waist", "high bust", "back waist length")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A size chart: ``columns`` by measurement name hold one value (mm) for each of ``sizes``.

    ``height_mm`` is the height the chart is drafted for, where it is known. ``other`` holds published columns that are
    no measurement of a card.
    """

    name: str
    title: str
    status: str
    source: str
    sizes: tuple[str, ...]
    columns: Mapping[str, tuple[float, ...]]
    other: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    height_mm: float | None = None
    aliases: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for named in ("columns", "other"):
            object.__setattr__(self, named, MappingProxyType(dict(getattr(self, named))))


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeChoice:
    """A size and why; ``rest_mm`` by name is measurement minus row; ``runner_up`` the next nearest size."""

    size: str
    row: Mapping[str, float]
    rest_mm: Mapping[str, float]
    runner_up: str | None
    beyond: bool
    sentence: str


class _ChartFile(BaseModel):
    """A size chart as it lies on the disk."""

    model_config = ConfigDict(extra="forbid")
    name: str
    title: str = ""
    aliases: list[str] = []
    unit: str = "cm"
    status: str = "own"
    source: str = ""
    height: str | int | float | None = None
    sizes: list[str | int | float]
    columns: dict[str, list[str | int | float]]
    other: dict[str, list[str | int | float]] = {}


@cache
def charts() -> Mapping[str, Chart]:
    """The charts that come with the program, by name."""
    folder = files("convert.body").joinpath("charts")
    found = [
        _chart_from_toml(tomllib.loads(file.read_text(encoding="utf-8")), file.name)
        for file in folder.iterdir()
        if file.name.endswith(".toml")
    ]
    return MappingProxyType({one.name: one for one in sorted(found, key=lambda one: one.name)})


def chart(name: str, *, folder: Path | str = ".") -> Chart:
    """The size chart of that name, or one's own from a ``.toml`` file (looked for in ``folder``).

    Raises
    ------
    InputError
        If there is none, or the file is not a chart.

    Examples
    --------
    >>> chart("misses since 1968").columns["bust"][4]
    914.4
    """
    if name.lower().endswith(".toml"):
        file = Path(folder) / name
        return _chart_from_toml(read_toml(file), file.name)
    spellings = {plain(word): one for one in charts().values() for word in (one.name, *one.aliases)}
    if plain(name) in spellings:
        return spellings[plain(name)]
    near = closest(name, spellings)
    guess = f": did you mean “{spellings[near].name}”?" if near else "."
    known = ", ".join(f"“{one}”" for one in charts())
    raise InputError(f"unknown size chart “{name}”{guess}", f"Charts that are known: {known}; or a .toml file.")


def _chart_from_toml(data: Mapping[str, Any], where: str) -> Chart:
    try:
        read = _ChartFile.model_validate(dict(data))
    except ValidationError as err:
        first = err.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        missing = "is missing" if first["type"] == "missing" else "is not known or not written as it should be"
        raise InputError(
            f"{where}: “{key}” {missing}.",
            'A chart has name = "…", unit = "cm", sizes = ["36", "38"], and [columns] with bust = [84, 88].',
        ) from err
    if read.unit not in ("cm", "in"):
        raise InputError(f"{where}: the unit “{read.unit}” is not known.", 'Write unit = "cm" or unit = "in".')
    sizes = tuple(str(size).strip() for size in read.sizes)
    if not sizes or len(set(sizes)) != len(sizes):
        raise InputError(f"{where}: sizes are missing, or one is there twice.", 'Write sizes = ["36", "38", "40"].')
    return Chart(
        name=read.name,
        title=read.title or read.name,
        aliases=tuple(read.aliases),
        status=read.status,
        source=read.source,
        sizes=sizes,
        columns={measurement_name(key): _column(key, values, read, where) for key, values in read.columns.items()},
        other={key: _column(key, values, read, where) for key, values in read.other.items()},
        height_mm=None if read.height is None else typed_length_mm(read.height, unit=read.unit),
    )


def _column(key: str, values: list[str | int | float], read: _ChartFile, where: str) -> tuple[float, ...]:
    if len(values) != len(read.sizes):
        raise InputError(
            f"{where}: {key} has {len(values)} values for {len(read.sizes)} sizes.", "Write one value for each size."
        )
    try:
        column = tuple(typed_length_mm(value, unit=read.unit) for value in values)
    except InputError as err:
        raise InputError(f"{where}: {key}: {err.problem}", err.remedy) from err
    if min(column) <= 0:
        raise InputError(f"{where}: {key} has a value that is not above zero.", "Correct it in the chart.")
    return column


def row(sizes: Chart, size: str | int) -> dict[str, float]:
    """One size's body, mm by measurement name; its height too where the chart states one.

    Raises
    ------
    InputError
        If the chart has no such size.

    Examples
    --------
    >>> row(chart("misses since 1968"), "14")["hip"]
    965.2
    """
    wanted = str(size).strip()
    if wanted not in sizes.sizes:
        raise InputError(
            f"the chart “{sizes.name}” has no size “{wanted}”.", f"Its sizes are {', '.join(sizes.sizes)}."
        )
    at = sizes.sizes.index(wanted)
    found = {name: sizes.columns[name][at] for name in definitions() if name in sizes.columns}
    if sizes.height_mm is not None and "height" not in found:
        found["height"] = sizes.height_mm
    return found


def body_at_bust(sizes: Chart, bust_mm: float) -> dict[str, float]:
    """The chart's body for any bust: between two rows in proportion, beyond the last rows at their slope.

    Only what the chart holds; for smaller or larger steps than a size has.
    """
    bust = np.array(sizes.columns["bust"])
    order = np.argsort(bust)
    at = int(np.clip(np.searchsorted(bust[order], bust_mm), 1, len(bust) - 1))
    low, high = order[at - 1], order[at]
    share = (bust_mm - bust[low]) / (bust[high] - bust[low])
    found = {name: column[low] + share * (column[high] - column[low]) for name, column in sizes.columns.items()}
    if sizes.height_mm is not None:
        found.setdefault("height", sizes.height_mm)
    return {name: float(mm) for name, mm in found.items()}


def nearest_row(sizes: Chart, measurements: Mapping[str, float], *, unit: LengthUnit = "cm") -> SizeChoice:
    """The size whose row lies nearest to the measurements (mm) that the chart holds too.

    All of them count alike, in mm. Ties go to the smaller size: a pattern is let out more easily than a shoulder is
    taken in (common practice).

    Raises
    ------
    InputError
        If they share no measurement with the chart.
    """
    shared = [name for name in _KEYS if name in measurements and name in sizes.columns]
    if not shared:
        raise InputError(
            f"the chart “{sizes.name}” holds none of the measurements given.",
            f"It holds {listed(list(sizes.columns))}: give one of them, best the bust.",
        )
    return _nearest(sizes, {name: measurements[name] for name in shared}, unit)


def _nearest(sizes: Chart, wanted: Mapping[str, float], unit: LengthUnit) -> SizeChoice:
    table = np.array([sizes.columns[name] for name in wanted])
    given = np.array(list(wanted.values()))
    far = np.sqrt(np.mean((table - given[:, None]) ** 2, axis=0))
    order = np.argsort(np.round(far, 6), kind="stable")
    best = int(order[0])
    inside = [table[i].min() - 25 <= mm <= table[i].max() + 25 for i, mm in enumerate(given)]
    words = listed([f"{name} {format_body_mm(table[i, best], unit)}" for i, name in enumerate(wanted)])
    beyond = not all(inside)
    sentence = f"Size {sizes.sizes[best]} is nearest: {words}."
    if beyond:
        sentence += " The measurements lie outside this chart."
    return SizeChoice(
        size=sizes.sizes[best],
        row=MappingProxyType(row(sizes, sizes.sizes[best])),
        rest_mm=MappingProxyType({name: float(given[i] - table[i, best]) for i, name in enumerate(wanted)}),
        runner_up=sizes.sizes[int(order[1])] if len(order) > 1 else None,
        beyond=beyond,
        sentence=sentence,
    )
