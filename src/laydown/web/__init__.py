"""The bench: the second door, a web app on the artist's own computer, on the same tasks."""
