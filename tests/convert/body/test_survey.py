"""The survey's statistics, stored with the program, against figures computed from the survey's file itself.

The printed report (NATICK/TR-15/007, December 2014) states means and spreads too; we have not read its tables, so
nothing here is called published. The figures below were computed by other code than the program's, from a public copy
of the survey's file: https://github.com/cosaques/biba-bop-stage-dataset, data/ANSUR_II_FEMALE.csv, commit 781996e6.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from convert.body.survey import (
    OWN_RULES,
    SURVEY_COLUMNS,
    read_survey,
    statistics_text,
    stored_statistics,
    survey_statistics,
    with_own_rules,
)

SURVEY = Path(os.environ.get("OWNBLOCK_DATA", "nowhere")) / "ansur2" / "female_measures_mm.csv"
needs_survey = pytest.mark.skipif(not SURVEY.is_file(), reason="OWNBLOCK_DATA has no survey")

# mean and SD, mm, computed from that file
COMPUTED = {
    "height": (1628.5, 64.2),
    "bust": (946.9, 82.7),
    "waist": (860.9, 99.9),
    "hip": (1021.3, 75.9),
    "neck": (371.2, 19.7),
    "upper arm": (305.6, 30.8),
    "wrist": (154.8, 7.8),
    "shoulder length": (135.4, 10.3),
    "across back": (373.4, 29.8),
    "back waist length": (425.4, 26.4),
    "arm length": (543.6, 29.4),
    "inside leg": (757.3, 44.6),  # the crotch's height, 782.3, less an inch
    "thigh": (616.1, 55.8),
}


def test_stored_statistics_give_the_means_and_spreads_computed_from_the_file() -> None:
    """Mean and SD of a log-normal with the stored parameters; within 0.3 % and 3 %, what the shape allows."""
    found = stored_statistics()
    assert found.n == 1986
    assert set(found.names) == set(COMPUTED)
    for i, name in enumerate(found.names):
        variance = found.covariance[i, i]
        mean = np.exp(found.mean[i] + variance / 2)
        assert mean == pytest.approx(COMPUTED[name][0], rel=0.003)
        assert mean * np.sqrt(np.expm1(variance)) == pytest.approx(COMPUTED[name][1], rel=0.03)


def test_stored_statistics_give_the_correlations_computed_from_the_file() -> None:
    found = stored_statistics()
    sd = np.sqrt(np.diag(found.covariance))
    r = found.covariance / np.outer(sd, sd)
    computed = {("bust", "waist"): 0.84, ("bust", "hip"): 0.74, ("height", "arm length"): 0.79}
    computed |= {("bust", "shoulder length"): 0.13, ("upper arm", "wrist"): 0.60, ("waist", "back waist length"): 0.60}
    for (one, other), value in computed.items():
        assert r[found.names.index(one), found.names.index(other)] == pytest.approx(value, abs=0.02)


@needs_survey
def test_the_stored_file_is_what_the_survey_gives() -> None:
    women = read_survey(SURVEY)
    assert women.shape == (1986, len(SURVEY_COLUMNS))
    found, stored = survey_statistics(women), stored_statistics()
    assert found.mean == pytest.approx(stored.mean, abs=1e-6)
    assert found.covariance == pytest.approx(stored.covariance, rel=1e-3, abs=1e-7)
    chest = women[:, 0]
    assert chest.mean() == pytest.approx(946.9, abs=0.05)  # as computed above, by other code
    assert chest.std(ddof=1) == pytest.approx(82.7, abs=0.05)
    assert "covariance" in statistics_text(found)


def test_own_rules_keep_the_survey_and_a_proper_distribution() -> None:
    survey, whole = stored_statistics(), with_own_rules(stored_statistics())
    k = len(survey.names)
    assert whole.names[k:] == tuple(OWN_RULES)
    assert np.array_equal(whole.covariance[:k, :k], survey.covariance)
    assert np.linalg.eigvalsh(whole.covariance).min() > 0
    high, bust = whole.names.index("high bust"), whole.names.index("bust")
    cup = np.exp(whole.mean[bust]) - np.exp(whole.mean[high])
    assert cup == pytest.approx(50.8, abs=1.0)  # misses chart since 1968: 2 in in every size
