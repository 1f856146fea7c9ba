"""The plan of a season, and what may be asked of it."""
