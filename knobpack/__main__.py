"""``python -m knobpack``."""

import sys

from knobpack.command import main

if __name__ == "__main__":
    sys.exit(main())
