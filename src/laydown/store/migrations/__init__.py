"""How a library grew, one step a file; run by `laydown.store.migrating`."""
