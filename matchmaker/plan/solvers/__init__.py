"""HiGHS and CBC: the only modules that call a solver, each run quiet and to gap 0."""
