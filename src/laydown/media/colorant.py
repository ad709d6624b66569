"""A colorant: one marker, pencil or pan."""

from dataclasses import dataclass

from laydown.media.laydown import Medium


@dataclass(frozen=True, slots=True, order=True)
class Colorant:
    """One marker, pencil or pan, known by its range and its maker's name for it.

    Parameters
    ----------
    name
        Unique within the range.
    range
        The line it belongs to.
    medium
        Marker, pencil or wash.
    code
        The owner's own label, opaque: kept, searched and shown, never parsed.
    blender
        Whether it is a colorless blender, which carries solvent and no color.
    """

    name: str
    range: str
    medium: Medium = Medium.MARKER
    code: str = ""
    blender: bool = False

    @property
    def label(self) -> str:
        """Range and name, as recipes write a colorant where the name alone is not enough."""
        return f"{self.range}/{self.name}"
