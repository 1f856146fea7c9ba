"""A hatch written down: eggs, bands, markers, and what they say of the parents."""
