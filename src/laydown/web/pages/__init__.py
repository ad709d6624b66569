"""The pages, one module per noun: what a page asks, which task answers, which template shows it."""

from laydown.web.pages import (
    buying,
    finished,
    first,
    lessons,
    library,
    light,
    matches,
    notebook,
    pictures,
    runs,
    sheets,
    supplies,
    swatches,
)

PAGES = tuple(
    page.router
    for page in (
        *(first, supplies, swatches, sheets, matches, lessons),
        *(light, runs, buying, notebook, finished, pictures, library),
    )
)
"""Every page of the bench."""
