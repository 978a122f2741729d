"""The program's entry, of its script and of ``python -m sheltermap``.

Assumes that the command line itself may take a moment to load: who breaks off meanwhile
gets the same answer as later, and no traceback.
"""

from sheltermap.interrupt import exit_interrupted


def main() -> None:
    """Run the command line."""
    try:
        from sheltermap.cli import main as command_line

        command_line(prog_name="sheltermap")
    except KeyboardInterrupt:
        exit_interrupted()


if __name__ == "__main__":
    main()
