"""Make a lesson file from a picture's plan."""

from dataclasses import dataclass

from laydown.app.new_lesson import LessonMade
from laydown.app.plan_files import read_plan
from laydown.documents.lesson_text import write_lesson
from laydown.plan.picture_lesson import lesson_of


@dataclass(frozen=True, slots=True)
class LessonFromPlan:
    """A plan file's content and name, and what to say at the lesson's head."""

    file: bytes
    source: str
    title: str = ""
    paper: str = ""


def lesson_from_plan(request: LessonFromPlan) -> LessonMade:
    """Make a lesson of a plan; its colors stay what they are: estimates from a picture."""
    plan = read_plan(request.file, source=request.source)
    lesson = lesson_of(plan, title=request.title, paper=request.paper)
    return LessonMade(lesson, write_lesson(lesson).decode())
