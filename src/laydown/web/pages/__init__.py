"""The pages, one module per noun: what a page asks, which task answers, which template shows it."""

from laydown.web.pages.begin import router as begin
from laydown.web.pages.cards import router as cards
from laydown.web.pages.charts import router as charts
from laydown.web.pages.choosing import router as choosing
from laydown.web.pages.closing import router as closing
from laydown.web.pages.color import router as color
from laydown.web.pages.history import router as history
from laydown.web.pages.jobs import router as jobs
from laydown.web.pages.kits import router as kits
from laydown.web.pages.learning import router as learning
from laydown.web.pages.lesson_answers import router as lesson_answers
from laydown.web.pages.lesson_making import router as lesson_making
from laydown.web.pages.lessons import router as lessons
from laydown.web.pages.life import router as life
from laydown.web.pages.light import router as light
from laydown.web.pages.lightfastness import router as lightfastness
from laydown.web.pages.look import router as look
from laydown.web.pages.notebook import router as notebook
from laydown.web.pages.papers import router as papers
from laydown.web.pages.partners import router as partners
from laydown.web.pages.phone import router as phone
from laydown.web.pages.picture_kits import router as picture_kits
from laydown.web.pages.pictures import router as pictures
from laydown.web.pages.plan import router as plan
from laydown.web.pages.ranges import router as ranges
from laydown.web.pages.ranges_known import router as ranges_known
from laydown.web.pages.runs import router as runs
from laydown.web.pages.sheet_reading import router as sheet_reading
from laydown.web.pages.sheets import router as sheets
from laydown.web.pages.start import router as start
from laydown.web.pages.swatches import router as swatches
from laydown.web.pages.trials import router as trials
from laydown.web.pages.whole_demo import router as whole_demo
from laydown.web.pages.window import router as window

PAGES = (
    start,
    begin,
    whole_demo,
    look,
    kits,
    papers,
    swatches,
    ranges,
    ranges_known,
    sheets,
    sheet_reading,
    cards,
    history,
    color,
    charts,
    lessons,
    lesson_making,
    lesson_answers,
    light,
    life,
    lightfastness,
    window,
    runs,
    partners,
    choosing,
    notebook,
    trials,
    learning,
    pictures,
    plan,
    picture_kits,
    jobs,
    phone,
    closing,
)
"""Every page of the bench."""
