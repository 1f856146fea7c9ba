"""Scored traits: what scores say of the genes of every bird, trait by trait."""
