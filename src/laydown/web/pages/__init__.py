"""The pages, one module per noun: what a page asks, which task answers, which template shows it."""

from laydown.web.pages.charts import router as charts
from laydown.web.pages.closing import router as closing
from laydown.web.pages.color import router as color
from laydown.web.pages.jobs import router as jobs
from laydown.web.pages.kits import router as kits
from laydown.web.pages.look import router as look
from laydown.web.pages.phone import router as phone
from laydown.web.pages.start import router as start

PAGES = (start, look, kits, color, charts, jobs, phone, closing)
"""Every page of the bench."""
