"""Take colorants out of a kit."""

from laydown.app.own_colorants import KitChanged, OwnColorants, kit_changed, named_colorants, said
from laydown.store.library import Library


def disown_colorants(library: Library, request: OwnColorants) -> KitChanged:
    """Take colorants out of a kit, all of them or, if one name is unknown, none.

    Names are looked for in the kit alone, so that a name which stands in two ranges is clear when
    only one of them is owned.
    """
    with library.work(f"disown {said(request)} in {request.kit}") as work:
        asked = named_colorants(work, request, among=work.kit(request.kit))
        return kit_changed(work, request.kit, asked, work.disown(request.kit, asked))
