"""``python -m knobpack``."""

import sys

from knobpack.present.command import main

if __name__ == "__main__":
    sys.exit(main())
