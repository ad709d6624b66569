"""The cautions that go with every chart: they defer to labels and to local rules.

Common practice of the trade; no source. No solvent is called harmless in any words.
"""

HEADING = "Take care"

CAUTIONS = (
    (
        "The hazard label of your own country counts before anything written here, and so do the"
        " rules of your school and town; what needs a license is for those who hold one."
    ),
    "Alcohol inks, blending solvents and fixatives: air the room before, during and after.",
    "Let sheets dry in air. No flame, spark or heat gun near wet ink or solvent.",
    "Keep solvent in a small, lidded, labeled jar, never in a cup that someone could drink from.",
    "Used rags and swabs go where their label and local rules say.",
    "Dizzy, or a headache? Stop, cap everything and get fresh air.",
    "Don't lick brushes or nibs, and don't raise pigment dust.",
    "Children's classes go without solvent, unless those responsible for them decide otherwise.",
)
"""One sentence or two each, in the order to read them."""

SHOWN_COLORS = (
    "Screens and printers don't show these colors truly. Color in the empty box on your own paper,"
    " let it dry, and judge that by daylight."
)
"""The warning that stands on every page of a chart."""
