"""The report says everything, needs nothing from outside, and is built as WCAG 2.2 asks."""

import re
from html.parser import HTMLParser

import numpy as np
import pytest

from calibration.ground.errors import Note
from convert.block.block import Block, Check, Level, Move
from convert.body.card import BodyMeasurement, Card
from convert.paper.report.look import TEMPLATES
from convert.paper.report.report import write_report
from convert.paper.report.report_content import Photograph, level_sentence, report_content
from convert.paper.steps.pictures import comparison_picture, move_picture
from tests.convert.paper.plain_pieces import bodice

PNG = b"\x89PNG\r\n\x1a\n"


def level(name: str = "bust", **changes: float | bool | None) -> Level:
    values: dict[str, float | bool | None] = {
        "pattern_mm": 990.0,
        "pattern_uncertainty_mm": 1.0,
        "drafted_for_mm": 900.0,
        "pattern_ease_mm": 90.0,
        "body_mm": 940.0,
        "body_is_estimated": False,
        "ease_mm": 60.0,
        "target_mm": 1000.0,
        "block_mm": 1000.0,
        "uncertainty_mm": 1.2,
    }
    return Level(name=name, **{**values, **changes})  # type: ignore[arg-type]


def block() -> Block:
    wider = bodice(wider=12.0)
    move = Move(
        move="widen at the side",
        piece="bodice front",
        amount_mm=12.0,
        where="side seam",
        sentence="Add 1.2 cm at the side seam.",
        before=bodice(),
        after=wider,
        cuts=(np.array([[100.0, 0.0], [100.0, 300.0]]),),
        hinges=np.array([[97.0, 138.0]]),
    )
    checks = (
        Check(check="side seams are equal", value=0.1, limit=0.5, where="front and back", sound=True),
        Check(check="shoulders are equal", value=3.0, limit=0.5, where="front and back", sound=False),
    )
    card = Card(name="maker <A> & co", measurements={"bust": BodyMeasurement(mm=940.0)})
    return Block(
        maker=card, pieces=(wider,), levels=(level(), level("waist", body_mm=None)), moves=(move,), checks=checks
    )


def html() -> str:
    photo = Photograph(title="Bodice front", picture=PNG, caption="The pink line is the cut line.")
    return write_report(
        report_content(
            block(),
            [bodice()],
            title="Block of maker A",
            date="25 November 2026",
            photographs=[photo],
            measure_next=["Waist: round the narrowest place."],
            notes=[Note("pitch-doubtful", "The grid may be inches.")],
        )
    )


class Outline(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.headings: list[int] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.pictures: list[dict[str, str | None]] = []
        self.sources: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if values.get("id"):
            self.ids.append(str(values["id"]))
        if tag == "a":
            self.links.append(str(values["href"]))
        if tag == "img":
            self.pictures.append(values)
        self.sources += [str(values[name]) for name in ("src", "href") if values.get(name) and tag != "a"]


def test_one_h1_and_no_level_skipped() -> None:
    outline = Outline()
    outline.feed(html())
    assert outline.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(outline.headings, outline.headings[1:], strict=False))
    assert len(outline.ids) == len(set(outline.ids))
    assert all(link.lstrip("#") in outline.ids for link in outline.links)


def test_nothing_comes_from_outside() -> None:
    text = html()
    outline = Outline()
    outline.feed(text)
    assert all(source.startswith("data:") for source in outline.sources)
    assert not re.search(r"url\(\"?https?:", text)
    assert all(picture.get("alt") for picture in outline.pictures)


def test_it_says_what_was_given_and_escapes_it() -> None:
    text = html().replace("\u00a0", " ")
    for words in (
        "Add 1.2 cm at the side seam.",
        "The grid may be inches.",
        "Not sound",
        "Waist: round the narrowest",
        "Sew a toile",
        "told by you",
        "maker &lt;A&gt; &amp; co",
    ):
        assert words in text
    assert "maker <A>" not in text


def test_move_picture_hatches_what_was_added_only() -> None:
    picture = move_picture(block().moves[0])
    assert re.search(r'fill="url\(#m\d+a\)"', picture)
    assert not re.search(r'fill="url\(#m\d+l\)"', picture)
    back = Move(
        **{
            **{name: getattr(block().moves[0], name) for name in Move.__slots__},
            "before": block().moves[0].after,
            "after": block().moves[0].before,
        }
    )
    assert re.search(r'fill="url\(#m\d+l\)"', move_picture(back))


def test_bars_are_drawn_to_one_scale() -> None:
    """1000 mm of block against 940 mm of body: the lengths on the picture stand in the same proportion."""
    rects = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', comparison_picture([level()]))
    ends: dict[str, float] = {}
    for x, y, wide in rects:
        ends[y] = max(ends.get(y, 0.0), float(x) + float(wide) - 0.8)
    body, pattern, made = ends.values()
    assert made / body == pytest.approx(1000 / 940, rel=1e-3)
    assert pattern / body == pytest.approx(990 / 940, rel=1e-3)


def test_sentences_ask_for_no_sum() -> None:
    assert level_sentence(level()) == (
        "Bust: 94 cm is yours. With 6 cm of ease the block has 100 cm. The block is 1 cm larger than the pattern."
    )
    assert "in" in level_sentence(level(), "in")
    assert "not on your card" in level_sentence(level(body_mm=None))


def _luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_contrast_on_light_and_dark() -> None:
    """WCAG 2.2: 4.5 to 1 for words, 3 to 1 for graphics and borders that carry meaning."""
    schemes = re.findall(r":root \{([^}]*)\}", (TEMPLATES / "style.html").read_text())
    assert len(schemes) == 3  # light, dark, printed
    for block_text in schemes:
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block_text))
        for behind in ("paper", "card", "warn"):
            for front, least in (
                ("ink", 4.5),
                ("quiet", 4.5),
                ("link", 4.5),
                ("added", 3.0),
                ("lost", 3.0),
                ("body", 3.0),
            ):
                high, low = sorted((_luminance(colours[front]), _luminance(colours[behind])), reverse=True)
                assert (high + 0.05) / (low + 0.05) >= least, (front, behind)
