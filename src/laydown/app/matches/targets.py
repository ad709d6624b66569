"""What people call a color, turned into a target.

A target is typed in numbers, in the forms of `laydown.color.typed`; as the name of a colorant; or
as a recipe of the library's colorants, measured where it was swatched and predicted where it
wasn't.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from laydown import errors
from laydown.app.fits import kit_fit_for
from laydown.color.lab import lab_from_reflectance
from laydown.color.naming import lab_of_words
from laydown.color.typed import DEVIATION, FORMS, HINT, Form, typed_color
from laydown.documents.files.lists import TargetRow
from laydown.match.outcome import Origin, Target
from laydown.media.kit.fit import AnyFit, guessed_spectra, leeway, reflectance
from laydown.media.legible import name_key
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.media.swatch import Basis, Swatch, reading_noise
from laydown.plan.lesson.lesson import Lesson, LessonColor
from laydown.store.library import Library

LIKE_NOTATION = re.compile(r"(\d+(\.\d+)?\s*[A-Z]{1,2}|N)\s*\d.*", re.I)
"""What was perhaps meant as one; only where no colorant has that name."""
HEXADECIMAL = re.compile(r"[0-9a-f]{6}", re.I)
WORDS = 4.0
"""Standard deviation of a color that is told in words [CIELAB units per axis]: the system's blocks
are about so wide (chosen)."""
SAME_COLOR = 0.02
"""CIELAB units per axis within which a lesson's color is one that a fit led to expect: a lesson's
file is written to four digits after the point."""
FORMS_AND_NAMES = f"Write a colorant's name, a recipe, a color in words, {FORMS}."


FitAtHand = Callable[[], AnyFit]
"""Gives the fit of the supplies at hand, which is made only where it is asked for."""


Known: TypeAlias = Target | tuple[Recipe, list[Swatch]]
"""A color that was told, or a recipe with its swatches where its color is wanted; without any it is
to be predicted."""


def settle_targets(
    library: Library,
    wanted: Iterable[str | TargetRow],
    *,
    paper: str,
    source: str = "",
    fit: FitAtHand | None = None,
) -> tuple[Target, ...]:
    """Turn what was typed, by itself or as a line of a list, into targets.

    Raises `BadColorError` for what is no color, with its place; `UnknownNameError`,
    `AmbiguousNameError` or `NotMeasuredError` for names that the library can't answer for.

    `paper`: the paper that named colorants and recipes are wanted as on. `source`: of the list, for
    messages. `fit`: gives what swatches alone tell of the supplies that will answer; a recipe of
    theirs on their paper that was never swatched is wanted as this leads to expect. None where
    nothing answers.
    """
    found = []
    for one in wanted:  # all are looked up before any is predicted, for which supplies are fitted
        row = TargetRow(0, one) if isinstance(one, str) else one
        place = f"{source}, line {row.line}" if row.line else ""
        with _told_in_place(place):
            found.append((row, place, _look_up(library, row.color.strip(), paper)))
    return tuple(
        _settle(library, row, target, place=place, paper=paper, fit=fit)
        for row, place, target in found
    )


@contextmanager
def _told_in_place(place: str) -> Iterator[None]:
    try:
        yield
    except errors.LaydownError as error:
        if not place:
            raise
        raise error.told_as(f"{place}: {error.message}") from error


def _look_up(library: Library, text: str, paper: str) -> Known:
    """Return a target that is known already, or a recipe."""
    if target := _as_typed(text):
        return target
    try:  # a colorant may be called like a notation, six hexadecimal digits or a color in words
        with library.look() as work:
            recipe = parse_recipe(text, work.find_colorant)
            if not recipe.colorants:
                raise errors.BadColorError("No color was named.", hint=FORMS_AND_NAMES)
            on_paper = work.swatches(paper=paper, colorant=recipe.colorants[-1])
        return recipe, [s.swatch for s in on_paper if s.swatch.recipe.key == recipe.key]
    except errors.UnknownNameError as error:
        if LIKE_NOTATION.fullmatch(text):
            raise errors.BadColorError(
                f"“{text}” is neither a colorant here nor a notation of hue, value and chroma.",
                hint=HINT,
            ) from error
        if HEXADECIMAL.fullmatch(text) and (target := _as_typed(f"#{text}")):
            return target
        lab = lab_of_words(text)
        if lab is None:
            raise
        return Target(text, lab, covariance=WORDS**2 * np.eye(3))


def _settle(
    library: Library, row: TargetRow, found: Known, *, place: str, paper: str, fit: FitAtHand | None
) -> Target:
    if isinstance(found, tuple):
        with _told_in_place(place):
            found = _of_recipe(library, row.color.strip(), *found, paper=paper, fit=fit)
    if found.asked_as is not None and not (
        fit is not None and _knows(fit(), found.asked_as, paper)
    ):
        found = replace(found, asked_as=None)
    return replace(found, name=row.name or found.name, passage=row.passage, role=row.role)


def _as_typed(text: str) -> Target | None:
    """Return the target that is told by numbers alone; None for names and recipes."""
    typed = typed_color(text)
    if typed is None:
        return None
    lab, form = typed
    if form is not Form.SCREEN:
        return Target(text, lab, origin=Origin.TYPED)
    return Target(text, lab, origin=Origin.SCREEN, covariance=DEVIATION[form] ** 2 * np.eye(3))


def _asked_as(target: Target, recipe: Recipe) -> Target:
    """Note that a color was asked by the name of a colorant; a recipe of more is but a color."""
    return replace(target, asked_as=recipe if recipe.length == 1 else None)


def _of_recipe(
    library: Library,
    name: str,
    recipe: Recipe,
    swatches: list[Swatch],
    *,
    paper: str,
    fit: FitAtHand | None,
) -> Target:
    """Return the color of a recipe: of its swatches, else by the fit at hand where that knows it.

    Swatches are told beside what answers, where that is known.
    """
    if swatches:
        target = _asked_as(_as_measured(name, swatches), recipe)
        if fit is None or not any(swatch.shared for swatch in swatches):
            return target
        return _beside_answers(library, target, swatches, fit())
    if fit is not None and _knows(at_hand := fit(), recipe, paper):
        target = replace(as_predicted(at_hand, name, recipe), own_recipe=recipe)
        return _asked_as(target, recipe)
    ranges = tuple(colorant.range for colorant in recipe.colorants)
    return as_predicted(kit_fit_for(library, ranges, paper), name, recipe)


def _knows(fit: AnyFit, recipe: Recipe, paper: str) -> bool:
    known = {colorant.label for colorant in fit.colorants}
    return name_key(fit.paper.name) == name_key(paper) and known >= {
        colorant.label for colorant in recipe.colorants
    }


def _as_measured(name: str, swatches: Sequence[Swatch]) -> Target:
    reflectance = np.mean([s.reflectance for s in swatches], axis=0)
    count = len(swatches)
    # what a camera errs stands in the spread of a photographed one, as of so many readings
    noise = [reading_noise(s, 0.0) if s.picture else s.spread for s in swatches]
    own = sum(n**2 - s.shared**2 for n, s in zip(noise, swatches, strict=True)) / count**2
    known = all(s.basis is Basis.SPECTRUM for s in swatches)
    return Target(
        name,
        lab_from_reflectance(reflectance),
        covariance=(own + sum(_alike(swatches).values())) * np.eye(3),
        reflectance=reflectance if known else None,
    )


def _alike(swatches: Sequence[Swatch]) -> dict[str, float]:
    """Return the variance of swatches' mean that is each picture's own [same, per axis]."""
    shared: dict[str, float] = {}
    for swatch in swatches:
        shared[swatch.picture] = shared.get(swatch.picture, 0.0) + swatch.shared / len(swatches)
    return {picture: deviation**2 for picture, deviation in shared.items()}


def _beside_answers(
    library: Library, target: Target, swatches: Sequence[Swatch], fit: AnyFit
) -> Target:
    """Leave out of a target's doubt what it errs alike with what answers, read from one picture.

    Where only some swatches of the supplies at hand are of that picture, as much of it.
    """
    labels = {colorant.label for colorant in fit.colorants}
    with library.look() as work:
        on_paper = [stored.swatch for stored in work.swatches(paper=fit.paper.name)]
    answering = [
        swatch.picture
        for swatch in on_paper
        if swatch.recipe.steps and labels >= {c.label for c in swatch.recipe.colorants}
    ]
    told = _alike(swatches).items()
    alike = sum(v * answering.count(picture) for picture, v in told) / max(len(answering), 1)
    return replace(target, covariance=target.covariance - alike * np.eye(3), alike=alike)


def as_predicted(fit: AnyFit, name: str, recipe: Recipe) -> Target:
    """Return the color that a recipe gives on the whole as a target."""
    spectrum = reflectance(fit, recipe)
    return Target(
        name,
        lab_from_reflectance(spectrum),
        origin=Origin.SWATCHED,
        covariance=leeway(fit, recipe).on_the_whole().covariance(),
        reflectance=None if guessed_spectra(fit, recipe) else spectrum,
    )


def targets_of_lesson(lesson: Lesson, fit: AnyFit) -> tuple[Target, ...]:
    """Return a lesson's colors as targets, with the recipe of those that a fit led to expect.

    `lesson`: its file tells colors, and of each that was never swatched what it was made with.
    `fit`: what swatches alone tell of the supplies that will answer.
    """
    return tuple(_as_own(lesson, color, fit) for color in lesson.colors)


def _as_own(lesson: Lesson, color: LessonColor, fit: AnyFit) -> Target:
    target = color.target
    by_name = {name_key(name): c for c in fit.colorants for name in (c.name, c.label)}
    if color.screen or not color.made_with:
        return target
    try:
        recipe = parse_recipe(color.made_with, lambda name: by_name[name_key(name)])
    except (KeyError, errors.BadRecipeError):
        return target
    if not _knows(fit, recipe, lesson.paper):
        return target
    own = as_predicted(fit, target.name, recipe)
    if not np.allclose(own.lab, target.lab, atol=SAME_COLOR):
        return target
    if color.xyz is None:
        return replace(target, asked_as=recipe)
    return replace(target, covariance=own.covariance, own_recipe=recipe, asked_as=recipe)


def one_coats_of(
    library: Library, paper: str, *, range: str = "", kit: str = ""
) -> tuple[TargetRow, ...]:
    """Return a wanted color for each colorant of a range or a kit laid in one coat on a paper."""
    with library.look() as work:
        source = f"the kit {kit}" if kit else work.find_range(range).name
        laid = {format_recipe(s.swatch.recipe, with_range=True) for s in work.swatches(paper=paper)}
        colorants = work.kit(kit) if kit else work.colorants(source)
    colored = (c for c in colorants if c.label in laid and not c.blender)
    wanted = tuple(TargetRow(0, c.label, c.name) for c in colored)
    if not wanted:
        raise errors.NotMeasuredError(
            f"No colorant of {source} was swatched in one coat on {paper}.",
            hint="Measure one coat of each, or say on which paper it was.",
            command="--from-paper",
        )
    return wanted
