"""Film."""
