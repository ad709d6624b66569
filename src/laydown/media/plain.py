"""A fit as plain lists, numbers and words, for keeping, and back again without loss."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.laydown import Laydown, Medium, Pressure, Stroke, Wait
from laydown.media.marker_model import MarkerFit
from laydown.media.paper import Paper
from laydown.media.recipe import AnyStep, Recipe, Step, Tool, Treatment, TreatmentStep

ARRAYS = (
    "ceiling",
    "paper_absorption",
    "absorption",
    "strength",
    "blender",
    "effects",
    "covariance",
    "xyz_only",
    "most_coats",
)
NUMBERS = ("hand", "misfit", "cover", "measuring")
WORDS = ("odd", "notes")
SETS = ("laid", "assumed")


def to_plain(fit: MarkerFit) -> dict[str, Any]:
    """Return a fit as dictionaries, lists, strings and numbers, ready for JSON.

    Parameters
    ----------
    fit
        From `fit_markers` or `pool`.

    Returns
    -------
    dict
        Numbers keep all their digits.
    """
    return {
        "model_version": fit.model_version,
        "paper": {
            "name": fit.paper.name,
            "reflectance": fit.paper.reflectance.tolist(),
            "coats_limit": fit.paper.coats_limit,
            "measured": fit.paper.measured,
        },
        "colorants": [_colorant(c) for c in fit.colorants],
        "swatched": [[_step(s) for s in recipe.steps] for recipe in fit.swatched],
        **{name: np.asarray(getattr(fit, name)).tolist() for name in ARRAYS},
        **{name: getattr(fit, name) for name in NUMBERS},
        **{name: list(getattr(fit, name)) for name in WORDS},
        **{name: sorted(getattr(fit, name)) for name in SETS},
    }


def from_plain(plain: Mapping[str, Any]) -> MarkerFit:
    """Return the fit that `to_plain` wrote.

    Raises
    ------
    KeyError
        Where something is missing: the fit is of another model version and must be made anew.
    """
    paper = plain["paper"]

    def array(name: str) -> FloatArray:
        return np.array(plain[name], dtype=np.float64)

    colorants = tuple(Colorant(**_as_colorant(c)) for c in plain["colorants"])
    return MarkerFit(
        model_version=plain["model_version"],
        paper=Paper(
            paper["name"],
            np.array(paper["reflectance"]),
            coats_limit=paper["coats_limit"],
            measured=paper["measured"],
        ),
        colorants=colorants,
        ceiling=array("ceiling"),
        paper_absorption=array("paper_absorption"),
        absorption=array("absorption").reshape(len(colorants), -1),
        strength=array("strength"),
        blender=array("blender"),
        effects=array("effects"),
        covariance=array("covariance"),
        hand=plain["hand"],
        misfit=plain["misfit"],
        cover=plain["cover"],
        measuring=plain["measuring"],
        xyz_only=array("xyz_only"),
        most_coats=array("most_coats"),
        laid=frozenset(plain["laid"]),
        assumed=frozenset(plain["assumed"]),
        odd=tuple(plain["odd"]),
        notes=tuple(plain["notes"]),
        swatched=tuple(Recipe(tuple(_as_step(s) for s in steps)) for steps in plain["swatched"]),
    )


def _colorant(colorant: Colorant) -> dict[str, Any]:
    return {
        "name": colorant.name,
        "range": colorant.range,
        "medium": str(colorant.medium),
        "code": colorant.code,
        "blender": colorant.blender,
    }


def _as_colorant(plain: Mapping[str, Any]) -> dict[str, Any]:
    return {**plain, "medium": Medium(plain["medium"])}


def _step(step: AnyStep) -> dict[str, Any]:
    if isinstance(step, TreatmentStep):
        return {"treatment": str(step.treatment), "tool": str(step.tool)}
    laid = step.laydown
    return {
        "colorant": _colorant(step.colorant),
        "coats": laid.coats,
        "stroke": str(laid.stroke),
        "pressure": str(laid.pressure),
        "dilution": laid.dilution,
        "wait": str(laid.wait),
    }


def _as_step(plain: Mapping[str, Any]) -> AnyStep:
    if "treatment" in plain:
        return TreatmentStep(Treatment(plain["treatment"]), Tool(plain["tool"]))
    return Step(
        Colorant(**_as_colorant(plain["colorant"])),
        Laydown(
            plain["coats"],
            Stroke(plain["stroke"]),
            Pressure(plain["pressure"]),
            plain["dilution"],
            Wait(plain["wait"]),
        ),
    )
