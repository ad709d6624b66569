"""Create an empty kit."""

from dataclasses import dataclass

from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class KitCreated:
    """The name of the new kit."""

    name: str


def create_kit(library: Library, name: str) -> KitCreated:
    """Create a kit with nothing in it."""
    with library.work(f"create the kit {name}") as work:
        work.add_kit(name)
    return KitCreated(name)
