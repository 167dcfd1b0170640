"""The one look of all our pages: the style that stands in the report's template."""

from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from convert.paper.lettering import BOLD, FAMILY, REGULAR
from convert.paper.report import TEMPLATES, _data_uri, _font


@cache
def pages() -> Environment:
    """Templates that may use ``{{ style }}``."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["picture"] = _data_uri
    environment.filters["svg"] = Markup  # our own drawings, whose words are escaped where they are drawn
    report = (TEMPLATES / "report.html").read_text(encoding="utf-8")
    style = report[report.index("<style>") : report.index("</style>") + len("</style>")]
    environment.globals["style"] = Markup(
        environment.from_string(style).render(family=FAMILY, regular=Markup(_font(REGULAR)), bold=Markup(_font(BOLD)))
    )
    return environment
