import re

from laydown.documents.print.typefaces import SIGNS
from laydown.match.outcome import Verdict


def test_each_verdict_has_a_sign_of_its_own_shape() -> None:
    """Every verdict has a sign, no two are the same, and none tells by color."""
    assert set(SIGNS) == set(Verdict)
    assert len(set(SIGNS.values())) == len(Verdict)
    assert all("#" not in sign and "currentColor" in sign for sign in SIGNS.values())


def test_signs_stay_in_their_circle() -> None:
    """No shape reaches beyond radius 1, so that signs keep clear of the words beside."""
    for sign in SIGNS.values():
        shapes = re.findall(r' (?:r|d)="([^"]+)"', sign)
        assert len(shapes) >= 2
        assert max(abs(float(n)) for d in shapes for n in re.findall(r"-?[\d.]+", d)) <= 1.0
