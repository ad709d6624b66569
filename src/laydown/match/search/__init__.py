"""Search."""
