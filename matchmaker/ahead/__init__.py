"""The coming seasons, simulated gene by gene."""
