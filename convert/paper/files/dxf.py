"""DXF R2000 in millimetres, one block per piece, on layers numbered after ASTM D6673.

Layer numbers (1 boundary, 4 notches, 6 fold, 7 grain, 8 internal lines, 13 drill holes, 14 sew line, 15 text): read
second hand, on two web pages about cutting-room programs, which agree in all of them but 15, on one page
only. Of the standard itself only the scope was read, https://www.scribd.com/document/598343766/D-6673-04-RDY2NZM.
Conformity is not claimed: the standard builds on DXF release 13, which has
no place for units, and a file without units is cut at the wrong size sooner or later.
"""

import io
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from calibration.ground.points import Points
from convert.paper.draw.drawing import Drawing, LineKind, Path, Text
from convert.paper.draw.svg import side_by_side

BOUNDARY, NOTCHES, FOLD, GRAIN, INTERNAL, HOLES, SEW_LINE, WORDS = "1", "4", "6", "7", "8", "13", "14", "15"
LAYERS: Mapping[str, str] = MappingProxyType(
    {
        BOUNDARY: "piece boundary",
        NOTCHES: "notches",
        FOLD: "mirror (fold) line",
        GRAIN: "grain line",
        INTERNAL: "internal lines, not cut",
        HOLES: "drill holes",
        SEW_LINE: "sew line",
        WORDS: "annotation text",
    }
)
_LAYERS_OF: Mapping[LineKind, tuple[str, ...]] = MappingProxyType(
    {
        "seam": (BOUNDARY, SEW_LINE),  # without an allowance the paper ends at the sew line
        "cut": (BOUNDARY,),
        "stitching": (SEW_LINE,),
        "fold": (FOLD,),
        "dart": (INTERNAL,),
        "level": (INTERNAL,),
        "grainline": (GRAIN,),
        "notch": (NOTCHES,),
        "hole": (HOLES,),
    }
)
_CAPITAL_SHARE = 0.67  # a DXF text's height is that of its capitals


def write_dxf(drawings: Iterable[Drawing]) -> bytes:
    """The pieces as one DXF file, each a block, set side by side in model space.

    Parameters
    ----------
    drawings
        Recorded at full size.
    """
    import ezdxf
    from ezdxf.enums import InsertUnits, TextEntityAlignment

    had = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no moment of writing: the same block gives the same file
    try:
        document = ezdxf.new("R2000", units=ezdxf.units.MM)
        for number, meaning in LAYERS.items():
            document.layers.add(number).description = meaning
        space = document.modelspace()
        laid = side_by_side(tuple(drawings))
        _extents(document, laid)
        for drawing in laid:
            left, bottom, _, _ = drawing.bounds
            origin = np.array([left, bottom])
            block = document.blocks.new(_block_name(drawing.name, document.blocks))
            block.units = InsertUnits.Millimeters
            for item in drawing.items:
                if isinstance(item, Text):
                    text = block.add_text(
                        item.words,
                        height=item.size * _CAPITAL_SHARE,
                        rotation=item.angle_deg,
                        dxfattribs={"layer": WORDS},
                    )
                    text.set_placement(tuple(item.at - origin), align=TextEntityAlignment.LEFT)
                else:
                    _add_line(block, item, item.points - origin)
            space.add_blockref(block.name, (left, bottom))
        stream = io.StringIO()
        document.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = had
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _extents(document, drawings: Sequence[Drawing]) -> None:  # type: ignore[no-untyped-def]
    """Where the drawing lies, in the header: some readers place and scale by it."""
    boxes = np.array([drawing.bounds for drawing in drawings])
    low, high = boxes[:, :2].min(0), boxes[:, 2:].max(0)
    document.header["$EXTMIN"] = (*low, 0.0)
    document.header["$EXTMAX"] = (*high, 0.0)
    document.header["$LIMMIN"] = tuple(low)
    document.header["$LIMMAX"] = tuple(high)
    document.modelspace().reset_extents((*low, 0.0), (*high, 0.0))
    document.modelspace().reset_limits(tuple(low), tuple(high))
    document.header["$MEASUREMENT"] = 1


def _block_name(name: str, blocks) -> str:  # type: ignore[no-untyped-def]
    taken, number = name, 2
    while taken in blocks:
        taken, number = f"{name} {number}", number + 1
    return taken


def _add_line(block, path: Path, points: Points) -> None:  # type: ignore[no-untyped-def]
    if path.filled:  # arrow heads say nothing that the line does not
        return
    for layer in _LAYERS_OF.get(path.kind, ()):
        if path.kind == "hole":
            middle = points.mean(0)
            block.add_circle(tuple(middle), float(np.hypot(*(points - middle).T).mean()), dxfattribs={"layer": layer})
        else:
            points = points[[0, -1]] if path.kind == "fold" else points  # a mirror line is two points
            block.add_lwpolyline(points.tolist(), close=path.closed, dxfattribs={"layer": layer})
