"""The page: one self-contained HTML file of a season, for screen, phone and paper."""
