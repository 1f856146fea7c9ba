"""Which hens go with which cock: breeding pens for a backcross flock, proved best under the rules.

The verbs of the command line are functions of ``matchmaker.verbs``, each taking a flock folder:

    from pathlib import Path
    from matchmaker import verbs

    plan = verbs.plan(Path("examples/holm-fen"))
"""

__version__ = "0.1.0"

__all__ = ["__version__"]
