"""``python -m matchmaker``."""

from matchmaker.cli.app import run

if __name__ == "__main__":
    run()
