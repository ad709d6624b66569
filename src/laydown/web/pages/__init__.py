"""The pages, one module per noun: what a page asks, which task answers, which template shows it."""

from laydown.web.pages.buying import router as buying
from laydown.web.pages.first import router as first
from laydown.web.pages.first import router as guide
from laydown.web.pages.lessons import router as answer_pages
from laydown.web.pages.lessons import router as lessons
from laydown.web.pages.library import router as library
from laydown.web.pages.light import router as light
from laydown.web.pages.matches import router as laying
from laydown.web.pages.matches import router as matches
from laydown.web.pages.notebook import router as notebook
from laydown.web.pages.pictures import router as pictures
from laydown.web.pages.runs import router as runs
from laydown.web.pages.sheets import router as sheets
from laydown.web.pages.supplies import router as supplies
from laydown.web.pages.swatches import router as swatches

PAGES = (
    first,
    supplies,
    swatches,
    sheets,
    matches,
    lessons,
    answer_pages,
    light,
    runs,
    laying,
    buying,
    notebook,
    pictures,
    library,
    guide,
)
"""Every page of the bench."""
