"""Who is related to whom: kinship, its paths, founders and generations."""
