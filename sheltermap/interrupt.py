"""What the user is told who breaks off, whether the command line is loaded yet or not.

In: nothing. Out: a line on stderr and the exit code that shells have for it. Assumes nothing
but the standard library, of which it loads no more than Python itself does.
"""

import sys
from typing import NoReturn

_INTERRUPTED = 130  # 128 and the number of SIGINT, as shells count


def exit_interrupted() -> NoReturn:
    """
    Say that the user broke off, and exit.

    Raises
    ------
    SystemExit
        With code 130.
    """
    if sys.stderr is not None:  # Where it is closed, print would write on the output.
        print("\nBroken off.", file=sys.stderr)  # click may not be there yet
    sys.exit(_INTERRUPTED)
