"""``knobpack``, and ``python -m knobpack``."""

import sys


def run() -> int:
    """The command; where a library that it needs is missing, one line that says which."""
    try:
        from knobpack.command.main import main

        return main()
    except ModuleNotFoundError as error:
        library = (error.name or "").partition(".")[0]
        if library in {"", "knobpack"}:
            raise  # a fault of its own
        told = f"{library} is not installed here: python -m pip install {library}"
        print(f"knobpack: {told}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(run())
