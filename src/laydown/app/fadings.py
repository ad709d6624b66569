"""How each colorant of a library fades, from window tests where they show it, else by its class."""

from collections.abc import Mapping
from dataclasses import dataclass

from laydown.media.fading import Fading, class_fading
from laydown.media.window_test import shows_change, window_fading
from laydown.store.lightfastness import Rating, WindowTest
from laydown.store.work import Work


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """What is known of one colorant's lightfastness.

    Parameters
    ----------
    rating
        Its stated class, or None.
    tests
        Its window readings, in the order noted.
    fading
        What follows, in the light it was stated or tested for; None where nothing does.
    """

    rating: Rating | None
    tests: tuple[WindowTest, ...]
    fading: Fading | None


def known_lightfastness(work: Work) -> Mapping[str, Known]:
    """Return what is known, by the label of each colorant of which anything is."""
    rated = {rating.colorant.label: rating for rating in work.lightfastness.all()}
    tests: dict[str, tuple[WindowTest, ...]] = {}
    for test in work.lightfastness.tests():
        tests[test.colorant.label] = (*tests.get(test.colorant.label, ()), test)
    by_class = {
        fastness: class_fading(fastness) for fastness in {one.fastness for one in rated.values()}
    }

    def known(label: str) -> Known:
        rating = rated.get(label)
        stated = by_class[rating.fastness] if rating else None
        return _known(rating, tests.get(label, ()), stated)

    return {label: known(label) for label in sorted({*rated, *tests})}


def _known(rating: Rating | None, tests: tuple[WindowTest, ...], by_class: Fading | None) -> Known:
    """Let a test count once it shows a change; until then a class tells more."""
    readings = [test.reading for test in tests]
    if readings and (by_class is None or shows_change(readings)):
        return Known(rating, tests, window_fading(readings))
    return Known(rating, tests, by_class)
