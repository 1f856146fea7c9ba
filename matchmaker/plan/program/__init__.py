"""The integer program of a problem, row family by row family, and its columns read back."""
