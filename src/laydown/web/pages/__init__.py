"""The pages, one module per noun: what a page asks, which task answers, which template shows it."""

from laydown.web.pages.color import router as color
from laydown.web.pages.jobs import router as jobs
from laydown.web.pages.kits import router as kits
from laydown.web.pages.look import router as look
from laydown.web.pages.start import router as start

PAGES = (start, look, kits, color, jobs)
"""Every page of the bench."""
