"""The library: one database file that keeps ranges, papers, swatches, kits and fits."""
