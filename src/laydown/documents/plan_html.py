"""A picture's plan as one HTML file that needs nothing else: pictures side by side, the list."""

import base64
import io
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import cv2
import numpy as np
from jinja2 import Environment, StrictUndefined, Template
from numpy.typing import NDArray
from PIL import Image

from laydown.color.screen import screen_pixels
from laydown.documents import headings, plan_rows
from laydown.documents.cautions import CAUTIONS, SHOWN_COLORS
from laydown.documents.cautions import HEADING as CAUTIONS_HEADING
from laydown.documents.plan_drawing import Drawing, print_warnings
from laydown.documents.plan_svg import EDGE, drawing_groups
from laydown.documents.signs import svg_shapes
from laydown.plan.picture import KitPicture, PicturePlan
from laydown.plan.supplies import Supply, supplies

LONGEST = 900
"""Longer side of a picture on the page [pixels]."""
QUALITY = 88


@dataclass(frozen=True, slots=True, eq=False)
class _OneKit:
    """What one kit makes of the plan; None for the plan before any kit."""

    kit: KitPicture | None
    rows: tuple[plan_rows.PlanRow, ...]
    lead: str
    losses: tuple[str, ...]
    supplies: tuple[Supply, ...]


def plan_html(plan: PicturePlan, drawing: Drawing) -> str:
    """Write a plan as one HTML page, the same text for the same plan.

    Parameters
    ----------
    plan
        With no kit, one, or several side by side.
    drawing
        Of the same plan.

    Returns
    -------
    str
        The picture, the plan, and what each kit makes of it, in color and in values; the numbered
        drawing; each kit's recipes. Every color has its name, value and numbers beside it.

    Examples
    --------
    ``Path("plan.html").write_text(plan_html(plan, drawing), encoding="utf-8")``
    """
    alone = [replace(plan, kits=(kit,)) for kit in plan.kits] or [plan]
    box = drawing.page.box
    return _template().render(
        plan=plan,
        size=plan_rows.size_words(plan),
        views=[(title, _embedded(screen_pixels(lab))) for title, lab in plan_rows.views(plan)],
        kits=[_one_kit(part) for part in alone],
        view_box=f"{-EDGE:g} {-EDGE:g} {box.width + 2 * EDGE:.2f} {box.height + 2 * EDGE:.2f}",
        drawing="\n".join(drawing_groups(plan, drawing)),
        warnings=print_warnings(drawing),
        notes=plan_rows.notes(plan),
        reading=plan_rows.READING,
        invented=headings.INVENTED if plan_rows.is_invented(plan) else "",
        shapes=svg_shapes,
        shown_colors=SHOWN_COLORS,
        cautions=CAUTIONS,
        cautions_heading=CAUTIONS_HEADING,
    )


def _one_kit(plan: PicturePlan) -> _OneKit:
    kit = plan.kits[0] if plan.kits else None
    return _OneKit(
        kit,
        plan_rows.plan_rows(plan),
        plan_rows.lead(plan),
        plan_rows.losses(plan),
        supplies(kit.matches) if kit else (),
    )


def _embedded(pixels: NDArray[np.uint8]) -> str:
    """Return a picture as an address that holds it: flat ones as PNG, others as JPEG."""
    scale = min(1.0, LONGEST / max(pixels.shape[:2]))
    size = tuple(max(1, round(side * scale)) for side in pixels.shape[1::-1])
    small = Image.fromarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA))
    packed = [(kind, _packed(small, kind)) for kind in ("png", "jpeg")]
    kind, data = min(packed, key=lambda form: len(form[1]))
    return f"data:image/{kind};base64,{base64.b64encode(data).decode('ascii')}"


def _packed(image: Image.Image, kind: str) -> bytes:
    content = io.BytesIO()
    if kind == "png":
        image.save(content, "PNG", optimize=True)
    else:
        image.save(content, "JPEG", quality=QUALITY, subsampling=0)
    return content.getvalue()


@cache
def _template() -> Template:
    text = (files("laydown.documents") / "templates" / "plan.html.j2").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined).from_string(text)
