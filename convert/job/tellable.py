"""What can be told on a picture: one line for each thing, from which reader, writer and page are made or tested.

Everything is told in pixels of the upright picture. What lies on the paper can also be told in mm on the flat sheet and
is then written on the picture that shows it best; crossings and the corners of what to look at belong to one picture.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Shape = Literal["points", "whole", "stretches", "darts", "holes", "edges", "crossings", "box"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tellable:
    """One thing that can be told.

    Attributes
    ----------
    key
        Its entry in ``job.toml``.
    shape
        ``points`` stand each by itself, ``whole`` is one line or ring on one picture, ``stretches`` are lists of
        points, ``box`` two corners, ``crossings`` points with column and row; ``edges`` go by name, ``darts`` have legs
        and apexes, ``holes`` a place and a meaning.
    counts
        How many points it has; None: any number.
    replaces
        Whether it stands in place of all that was read of its kind; then ``false`` says that there are none.
    frame
        ``sheet``: lies on the paper. ``photo``: belongs to the picture.
    """

    key: str
    shape: Shape
    counts: tuple[int, ...] | None = None
    replaces: bool = False
    frame: Literal["sheet", "photo"] = "sheet"


_ALL = (
    Tellable(key="lattice", shape="crossings", frame="photo"),
    Tellable(key="edges", shape="edges", counts=(1, 2)),
    Tellable(key="darts", shape="darts", replaces=True),
    Tellable(key="add_darts", shape="darts"),
    Tellable(key="centre_line", shape="whole", counts=(2,)),
    Tellable(key="neck_line", shape="whole"),
    Tellable(key="tucks", shape="stretches", counts=(2,)),
    Tellable(key="grain", shape="whole", counts=(2,)),
    Tellable(key="notches", shape="points", replaces=True),
    Tellable(key="add_notches", shape="points"),
    Tellable(key="holes", shape="points", replaces=True),
    Tellable(key="add_holes", shape="points"),
    Tellable(key="hole_meanings", shape="holes"),
    Tellable(key="outline", shape="whole"),
    Tellable(key="outline_parts", shape="stretches"),
    Tellable(key="corners", shape="points"),
    Tellable(key="remove", shape="points"),
    Tellable(key="crop", shape="box", counts=(2,), frame="photo"),
)
TELLABLE: Mapping[str, Tellable] = MappingProxyType({one.key: one for one in _ALL})
"""By its entry in ``job.toml``."""
