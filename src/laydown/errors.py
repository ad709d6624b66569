"""Every error a user can meet, in one place: a sentence that says what is wrong, a hint, a slug.

A programmer's mistake stays a ``ValueError`` or a ``TypeError``. An answer of "no" (nothing in
this kit reaches that color) is a result, never an exception. ``docs/errors.md`` has a heading for
each slug, and a test keeps it so.
"""

from typing import Self

LONGEST = 1000
"""Characters of a message; of a longer one, which quotes something that was sent, both ends."""


def bounded(text: str) -> str:
    """Return a sentence as it is shown; both ends of one that quotes too much.

    >>> bounded("It is empty."), len(bounded("x" * 5_000_000))
    ('It is empty.', 953)
    """
    return text if len(text) <= LONGEST else f"{text[:700]} … {text[-250:]}"


class LaydownError(Exception):
    """The root of all errors that a user can meet and mend.

    `message`: what is wrong, with the value at fault and what is allowed. `hint`: what to do next,
    in words that hold at the command line and at the bench; empty where the message says it
    already. `command`: what to type for it at the command line, a command or its option. Only there
    it is told, beside the hint.
    """

    slug = "laydown"
    exit_code = 1

    def __init__(self, message: str, *, hint: str = "", command: str = "") -> None:
        self.message = bounded(message)
        super().__init__(self.message)
        self.hint = bounded(hint)
        self.command = command

    def told_as(self, message: str) -> Self:
        """Return the same error with another message, such as one that names the line, too."""
        return type(self)(message, hint=self.hint, command=self.command)


class BadFileError(LaydownError):
    """A file that can't be read as what it should be; nothing of it was taken over."""

    slug = "bad-file"


class TooLargeError(LaydownError):
    """A file, a request or a result that is larger than what is taken or kept."""

    slug = "too-large"


class TakesLongError(LaydownError):
    """A question that takes longer than a page may be waited for."""

    slug = "takes-long"


class BadColorError(LaydownError):
    """A color that no surface can have, or that is not written in a form known here."""

    slug = "bad-color"


class BadRecipeError(LaydownError):
    """A recipe or a laydown that can't be read or can't be done."""

    slug = "bad-recipe"


class BadEditError(LaydownError):
    """A change to a picture's plan that can't be made."""

    slug = "bad-edit"


class UnknownNameError(LaydownError):
    """A name of a colorant, range, paper or kit that the library doesn't hold."""

    slug = "unknown-name"


class AmbiguousNameError(LaydownError):
    """A name that stands for more than one thing here."""

    slug = "ambiguous-name"


class DuplicateNameError(LaydownError):
    """A name that is taken already."""

    slug = "duplicate-name"


class NotMeasuredError(LaydownError):
    """A question that needs a swatch which isn't there yet."""

    slug = "not-measured"


class LightfastnessError(LaydownError):
    """A class of lightfastness, an exposure or a window test that can't be as it is stated."""

    slug = "lightfastness"


class PanMarkError(LaydownError):
    """Marks of a pan that are none, or of which only one can be true."""

    slug = "pan-mark"


class LibraryError(LaydownError):
    """A library (database) that can't be opened, is busy, or was written by a newer laydown."""

    slug = "library"


class LookOnlyError(LibraryError):
    """A change that whoever asks for it may not make: they may only look at that library."""


class NothingToUndoError(LaydownError):
    """There is no change left to take back."""

    slug = "nothing-to-undo"


class CrewError(LaydownError):
    """Several processes that were to work together, and can't."""

    slug = "crew"


class NothingToRedoError(LaydownError):
    """Nothing was taken back since the last change."""

    slug = "nothing-to-redo"


class NotLetInError(LaydownError):
    """A phone that is not let in at the bench, or a bench that can't be opened to one."""

    slug = "not-let-in"
