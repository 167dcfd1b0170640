"""The one look of all our pages: templates that extend ``page.html``, with its style, font and pictures."""

import base64
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from convert.paper.draw.lettering import BOLD, FAMILY, REGULAR, kept_together
from convert.paper.report.report_content import Patch, Photograph

TEMPLATES = Path(__file__).parent / "templates"


@cache
def pages() -> Environment:
    """Templates of pages that work offline: what they show is inside them."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_kept_together,
    )
    environment.filters["picture"] = _data_uri
    environment.filters["svg"] = Markup  # our own drawings, whose words are escaped where they are drawn
    environment.globals |= {"family": FAMILY, "regular": Markup(_font(REGULAR)), "bold": Markup(_font(BOLD))}
    return environment


def _kept_together(value: Any) -> Any:
    return kept_together(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _font(path: Path) -> str:
    return "data:font/ttf;base64," + base64.b64encode(path.read_bytes()).decode()


def _data_uri(photograph: Photograph | Patch) -> str:
    kind = "png" if photograph.picture.startswith(b"\x89PNG") else "jpeg"
    return f"data:image/{kind};base64,{base64.b64encode(photograph.picture).decode()}"
