"""Tests run on all cores at once, so numpy is held to one thread in each process."""

import os

for library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")
