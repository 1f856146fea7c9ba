"""``python -m matchmaker``."""

from matchmaker.cli.entry import run

if __name__ == "__main__":
    run()
