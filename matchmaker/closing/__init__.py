"""The end of a season: the next season's folder."""
