"""The coming seasons, simulated."""
