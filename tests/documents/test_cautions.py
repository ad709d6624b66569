import re

import pytest

from laydown.documents.print.layout import CAUTIONS


def test_nothing_is_called_safe() -> None:
    """No caution calls a solvent or an ink safe, harmless or the like."""
    told = " ".join(CAUTIONS).casefold()
    assert not re.search(r"\bsafe|harmless|non-?toxic|no risk|not dangerous", told)


@pytest.mark.parametrize(
    "matter",
    [
        "air the room",
        "dry in air",
        "flame, spark or heat gun",
        "small, lidded, labeled jar",
        "never in a cup",
        "label and local rules",
        "fresh air",
        "lick brushes",
        "pigment dust",
        "classes go without solvent",
        "hazard label of your own country",
        "license",
    ],
)
def test_each_matter_is_spoken_of(matter: str) -> None:
    """What the trade warns of is in the cautions."""
    assert matter in " ".join(CAUTIONS)


def test_the_label_comes_first() -> None:
    """The first caution says that the label and local rules count before this page."""
    assert "counts before anything written here" in CAUTIONS[0]
