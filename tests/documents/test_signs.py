from laydown.documents.print.typefaces import SIGNS, Filled, Ring, svg_shapes
from laydown.match.outcome import Verdict


def test_each_verdict_has_a_sign_of_its_own_shape() -> None:
    """Every verdict has a sign, and no two are the same."""
    assert set(SIGNS) == set(Verdict)
    assert len(set(SIGNS.values())) == len(Verdict)


def test_signs_differ_without_color() -> None:
    """As SVG all signs take the color of the text around them, and still differ."""
    drawn = {svg_shapes(verdict) for verdict in Verdict}
    assert len(drawn) == len(Verdict)
    assert all("#" not in sign and "currentColor" in sign for sign in drawn)


def test_signs_stay_in_their_circle() -> None:
    """No shape reaches beyond radius 1, so that signs keep clear of the words beside."""
    for sign in SIGNS.values():
        for shape in sign:
            if isinstance(shape, Ring):
                assert shape.radius <= 1.0
            elif isinstance(shape, Filled):
                assert all(x * x + y * y <= 1.0 + 1e-9 for x, y in shape.points)
            else:
                ends = ((shape.x_1, shape.y_1), (shape.x_2, shape.y_2))
                assert all(x * x + y * y <= 1.01 for x, y in ends)
