"""Shares of breeds in the genome: expectation, spread, and the piece around a locus."""
