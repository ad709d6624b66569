"""Find a colorant by what was typed, or add it to a range that was named for new ones."""

from laydown.errors import UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import checked_colorant_name
from laydown.media.laydown import Medium
from laydown.store.work import Work


def find_or_add(
    work: Work, name: str, new_range: str, *, medium: Medium = Medium.MARKER
) -> Colorant:
    """Return the colorant of a name; one that isn't there is added to the new range.

    Parameters
    ----------
    work
        In which to look.
    name
        As typed; of ``Range/Name`` only the name is kept for a new one.
    new_range
        Where unknown ones go; empty for nowhere.
    medium
        Of a range that isn't there yet; one that is there keeps its own.

    Raises
    ------
    UnknownNameError
        For an unknown name where no range was named for new ones.
    """
    try:
        return work.find_colorant(name)
    except UnknownNameError:
        if not new_range:
            raise
    plain = checked_colorant_name(name.rpartition("/")[2])
    made = Colorant(plain, new_range, _medium_of(work, new_range, medium))
    added = work.add_colorants([made])
    return added[0] if added else work.find_colorant(f"{new_range}/{plain}")


def _medium_of(work: Work, name: str, medium: Medium) -> Medium:
    try:
        return work.find_range(name).medium
    except UnknownNameError:
        return medium
