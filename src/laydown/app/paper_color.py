"""Give a paper the bare color that somebody measured and typed."""

from laydown.color.typed import Form, measured_color
from laydown.errors import BadColorError, LibraryError
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis, Swatch
from laydown.store.work import Work


def give_color(work: Work, name: str, color: str) -> None:
    """Put a typed color in the place of what pictures or earlier typing said of bare paper.

    Parameters
    ----------
    work
        The change that it is part of.
    name
        Of a paper in the library.
    color
        As ``lab:`` or ``xyz:``.

    Raises
    ------
    BadColorError
        For another form, numbers that are none, or a color that no surface can have.
    LibraryError
        Where an instrument measured its spectrum, which tells more.
    """
    typed = measured_color(color)
    if typed.form is Form.SCREEN:
        raise BadColorError(
            "A color off a screen is no measurement of a paper.",
            hint="Measure it, and write lab: or xyz: and three numbers.",
        )
    bare = work.bare_paper(name)
    if any(stored.swatch.basis is Basis.SPECTRUM for stored in bare):
        raise LibraryError(
            f"A spectrum of bare {name} is in the library, which tells more than a typed color.",
            hint="Remove its swatch first, if it is wrong.",
            command="laydown swatches remove",
        )
    work.remove_swatches(stored.id for stored in bare)
    work.add_swatches([Swatch(name, Recipe(), typed.reflectance, Basis.XYZ)])
