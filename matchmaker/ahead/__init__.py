"""The coming seasons: what they may bring, by simulation."""
