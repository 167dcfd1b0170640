"""Choices in job.toml."""

from pathlib import Path

import pytest

from calibration.ground.errors import InputError
from tests.convert.test_job import one


def test_moves_and_darts_told(tmp_path: Path) -> None:
    head = (
        'grid = "1cm"\n[block]\ndarts = "side"\n'
        '[[block.moves]]\npiece = "bodice back"\nmove = "straight back"\namount = "1 cm"\n'
        '[[block.moves]]\npiece = "sleeve"\nmove = "widen or narrow the wrist"\namount = -0.5\n'
    )
    choices = one(tmp_path, "", head=head).choices
    assert choices.darts == "side seam"
    assert choices.amount_mm("round or straight back", "bodice back") == -10.0
    assert choices.amount_mm("widen or narrow the wrist", "sleeve") == -5.0


def test_a_figure_is_told_in_one_word(tmp_path: Path) -> None:
    head = (
        'grid = "1cm"\n[block]\nback_darts = "neck"\n'
        '[[block.moves]]\nmove = "forward shoulder"\namount = "8 mm"\n'
        '[[block.moves]]\nmove = "round back"\namount = "1 cm"\n'
    )
    choices = one(tmp_path, "", head=head).choices
    assert choices.back_darts == "neckline"
    assert choices.amount_mm("slope or square the shoulder", "bodice front") == 8.0
    assert choices.amount_mm("slope or square the shoulder", "bodice back") == -8.0
    assert choices.amount_mm("round or straight back", "bodice back") == 10.0


@pytest.mark.parametrize(
    ("line", "drafted"),
    [
        ("", ("sleeve", "skirt")),
        ("draft = true", ("sleeve", "skirt")),
        ("draft = false", ()),
        ('draft = "skirt"', ("skirt",)),
        ('draft = ["sleeve"]', ("sleeve",)),
    ],
)
def test_what_may_be_drafted(tmp_path: Path, line: str, drafted: tuple[str, ...]) -> None:
    assert one(tmp_path, "", head=f'grid = "1cm"\n[block]\n{line}').choices.draft == drafted


@pytest.mark.parametrize(
    ("block", "problem"),
    [
        ('draft = "trousers"', "can't be drafted"),
        ('darts = "knee"', "can't go to"),
        ('[[block.moves]]\nmove = "round back"', "does not say its amount"),
        ('[[block.moves]]\nmove = "raise or lower the crown"\namount = "1 cm"', "does not say its piece"),
        ('back_darts = "waist"', "back's dart can't go"),
        ('[[block.moves]]\npiece = "bodice bak"\nmove = "round back"\namount = 1', "did you mean bodice back"),
        ('[[block.moves]]\npiece = "bodice back"\nmove = "round back"\namount = "much"', r"\[block\]"),
    ],
)
def test_choices_that_cannot_be_understood(tmp_path: Path, block: str, problem: str) -> None:
    with pytest.raises(InputError, match=problem) as refused:
        one(tmp_path, "", head=f'grid = "1cm"\n[block]\n{block}\n')
    assert refused.value.remedy
