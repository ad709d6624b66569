"""The page that answers, and its script and style."""
