"""The page of a season in a real browser."""
