"""The validation page: what the engine says beside outside references, worked out when it is run.

Outside values are imported from ``tests/published``, where the tests have them too; other programs
are run here. ``python -m tests.validation`` writes the page.
"""
