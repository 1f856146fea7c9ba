"""Loci: the catalogue, what the settings say of them, and which lie near each other."""
