"""Pairs of hen and cock: what their chicks will be, which rules reject them, what they are worth."""
