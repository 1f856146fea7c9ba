"""The way to the target: crossing steps found by search with exact genotype arithmetic."""
