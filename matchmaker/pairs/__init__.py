"""Pairs of hen and cock: their chicks, the rules that reject them, their worth."""
