"""The readers given a million inputs that nobody would write: ``python -m tests.fuzz``."""
