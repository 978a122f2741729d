"""``python -m sheltermap``: the command line without its script."""

from sheltermap.cli import main

if __name__ == "__main__":
    main(prog_name="sheltermap")
