import numpy as np
import pytest

from laydown.media.film.drying import diffuse_external, diffuse_internal, fresnel, saunderson


@pytest.mark.parametrize(
    ("inside", "with_mirror", "without"), [(0.5, 0.3143, 0.2743), (0.9, 0.7913, 0.7513)]
)
def test_saunderson_with_and_without_the_mirror(
    inside: float, with_mirror: float, without: float
) -> None:
    """With k₁ .04 and k₂ .6 the published figures come out, mirror taken in or left out."""
    terms = {"external": 0.04, "internal": 0.6}
    assert saunderson(inside, **terms) == pytest.approx(with_mirror, abs=5e-5)
    assert saunderson(inside, **terms, specular=False) == pytest.approx(without, abs=5e-5)


def test_diffuse_terms_of_a_usual_varnish() -> None:
    """For an index of 1.5, .0918 of diffuse light stays outside and .5963 stays inside."""
    assert diffuse_external(1.5) == pytest.approx(0.0918, abs=5e-5)
    assert diffuse_internal(1.5) == pytest.approx(0.5963, abs=5e-5)


def test_light_is_reflected_alike_either_way() -> None:
    """Fresnel's mirror is the same for a ray and for the ray turned round."""
    outside = 0.6
    inside = np.sqrt(1 - (1 - outside**2) / 1.33**2)
    there, back = fresnel(np.array(outside), index=1.33), fresnel(inside, index=1 / 1.33)
    assert there == pytest.approx(back)
    assert fresnel(np.array(0.2), index=1 / 1.33) == 1.0
