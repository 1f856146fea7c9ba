"""The coming seasons, simulated: what this spring's plan leads to."""
