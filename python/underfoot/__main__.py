"""`python -m underfoot`: the same as the command `underfoot`."""

import sys

from underfoot.cli import main

if __name__ == "__main__":
    sys.exit(main())
