"""``python -m propagate``: the command line."""

from propagate.cli import main

if __name__ == "__main__":
    main()
