"""Print."""
