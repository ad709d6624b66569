"""How a library grew, step by step; run by `laydown.store.migrating`."""
