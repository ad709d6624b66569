"""A sheet as text and back: all of it, so that a printed page is read by what was printed."""

import json
from typing import Any

from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.sheet.page import Grid, PageSize
from laydown.sheet.sheet import Cell, Sheet, SheetKind
from laydown.store.trouble import from_rows

GRID_FIELDS = (
    "columns",
    "rows",
    "left",
    "top",
    "cell_width",
    "cell_height",
    "pitch_x",
    "pitch_y",
)


def write_sheet(sheet: Sheet) -> str:
    """Return a sheet as JSON, its colorants written out."""
    colorants = sorted({c for cell in sheet.cells for c in cell.recipe.colorants})
    return json.dumps(
        {
            "number": sheet.number,
            "title": sheet.title,
            "kind": str(sheet.kind),
            "paper": sheet.paper,
            "size": str(sheet.size),
            "framed": sheet.framed,
            "grids": [[getattr(grid, name) for name in GRID_FIELDS] for grid in sheet.grids],
            "colorants": [[c.name, c.range, str(c.medium), c.code, c.blender] for c in colorants],
            "cells": [
                [cell.page, cell.place, format_recipe(cell.recipe, with_range=True)]
                for cell in sheet.cells
            ],
        },
        ensure_ascii=False,
    )


@from_rows
def read_sheet_text(text: str) -> Sheet:
    """Return the sheet that `write_sheet` wrote."""
    kept: dict[str, Any] = json.loads(text)
    colorants = [
        Colorant(name, range_name, Medium(medium), code, blender)
        for name, range_name, medium, code, blender in kept["colorants"]
    ]
    by_label = {colorant.label: colorant for colorant in colorants}
    return Sheet(
        kept["number"],
        kept["title"],
        SheetKind(kept["kind"]),
        kept["paper"],
        PageSize(kept["size"]),
        tuple(Grid(*numbers) for numbers in kept["grids"]),
        tuple(
            Cell(number, page, place, _recipe(recipe, by_label))
            for number, (page, place, recipe) in enumerate(kept["cells"], start=1)
        ),
        kept["framed"],
    )


def _recipe(text: str, by_label: dict[str, Colorant]) -> Recipe:
    return parse_recipe(text, lambda label: by_label[label])
