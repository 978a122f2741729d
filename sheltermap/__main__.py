"""The program's entry, of its script and of ``python -m sheltermap``.

Assumes that the command line itself may take a moment to load: who breaks off meanwhile
gets the same answer as later, and no traceback.
"""

import sys

BROKEN_OFF = 130
"""Exit code of what the user broke off, as shells have it."""


def main():
    """Run the command line."""
    try:
        from sheltermap.cli import main as command_line

        command_line(prog_name="sheltermap")
    except KeyboardInterrupt:
        print("\nBroken off.", file=sys.stderr)  # click may not be there yet
        sys.exit(BROKEN_OFF)


if __name__ == "__main__":
    main()
