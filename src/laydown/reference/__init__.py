"""Published tables that laydown needs at run time, with their sources, and a typed loader."""
