"""``python -m annotator``: the command line."""

from annotator.cli import run

if __name__ == "__main__":
    run()
