"""What knobpack raises.

::

    KnobpackError
    ├── InputError(ValueError)          a field holds a value it cannot hold
    │   └── FileError(OSError)          a file cannot be read or written
    ├── ImpossibleDemands               no layout meets every demand: which clash, and the ways out
    ├── NoLayoutFound                   stopped before any layout was known; nothing is proven
    ├── NotAnswered                     one request of many: no answer, but not for its own sake
    ├── MissingExtra(ImportError)       a library is needed that is not installed
    └── Fault(RuntimeError)             knobpack contradicts itself: please report it

``ImpossibleDemands`` stands in :mod:`knobpack.clash`, by its ``Clash``; ``NotAnswered`` in
:mod:`knobpack.many`.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final, Literal, TypeAlias

__all__ = [
    "MISSING",
    "Fault",
    "FileError",
    "InputError",
    "KnobpackError",
    "MissingExtra",
    "NoLayoutFound",
    "Stopped",
]


class KnobpackError(Exception):
    """The root of everything knobpack raises on purpose.

    Its ``song`` is the song that it is about, by its name, where a show was given; else None.
    """

    song: str | None = None


@contextmanager
def about_song(name: str) -> Iterator[None]:
    """Say of what is raised within which song it is about."""
    try:
        yield
    except KnobpackError as error:
        error.song = name
        error.add_note(f"This is about the song '{name}'.")
        raise


@contextmanager
def given_as(inner: str, given: str) -> Iterator[None]:
    """Name what is refused within by where it was given: ``given`` in place of ``inner``."""
    try:
        yield
    except InputError as error:
        if error.field.startswith(inner):
            error.field = given + error.field.removeprefix(inner)
            error.args = (error.field, *error.args[1:])
        raise


Stopped: TypeAlias = Literal[
    "time limit",
    "a share of the time limit",
    "cancelled",
    "effort",
    "the limits of its methods",
    "a known answer",
    "its show",
    "more than asked for",
    "more clashing sets than asked for",
    "more ways out than asked for",
    "not proven",
]
"""What can cut a search short. ``a share of the time limit``: a part of the search had no more than
that, and the rest was done before the limit was reached. ``the limits of its methods``: it tried
all that it can, whatever the effort. ``a known answer``: what was asked was known before all else
was proven. ``its show``: a song is laid out as is best for its show, which knows what is proven.
``more … than asked for``: there are more than were asked for. ``not proven``: nothing was looked
for, since the layout itself is not proven best."""


_ENDED: Final = {
    "time limit": "stopped by the time limit",
    "cancelled": "cancelled",
    "effort": "stopped by the limit of effort",
    "a known answer": "ended once what was asked was known",
    "the limits of its methods": "too large to be proven, whatever time it is given",
}


def ended(stopped: Stopped) -> str:
    """How a search ended that was cut short, in words."""
    return _ENDED.get(stopped, f"stopped by {stopped}")


class Reason(str):
    """Why a file cannot be used: told in place of a value."""

    __slots__ = ()


MISSING: Final = Reason("is missing")
"""What stands in place of a value where there was none."""


class InputError(KnobpackError, ValueError):
    """A field holds a value that it cannot hold; its ``file`` is the one it was read from, or None.

    Args:
        field: where the value stood, such as ``Surface.bits`` or ``voices[2].layer``. What a
            word refuses is named from that word: ``Request.voices[2].destinations[0].travel.end``.
        value: the value that was found there; ``MISSING`` where there was none.
        right: what would be right, in words.
    """

    file: str | None = None

    def __init__(self, field: str, value: object, right: str) -> None:
        super().__init__(field, value, right)
        self.field = field
        self.value = value
        self.right = right

    def __str__(self) -> str:
        there = "" if self.file is None else f"; in the file {self.file!r}"
        if isinstance(self.value, Reason):
            return f"{self.field}: {self.value}; {self.right}{there}"
        return f"{self.field}: {_brief(self.value)} will not do; {self.right}{there}"

    def under(self, path: str) -> InputError:
        """The same error, its field named from ``path``: where the word stands that refused.

        ``Travel.start`` under ``Destination.travel`` is ``Destination.travel.start``.

        Args:
            path: where the word stands that refused, such as ``Destination.travel``.

        Returns:
            A new error, with the same value and the same ``right``.
        """
        inner = re.sub(r"^\w+", "", self.field)
        return InputError((path + inner).lstrip("."), self.value, self.right)


class FileError(InputError, OSError):
    """A file or folder cannot be read, written or made.

    Its ``field`` and its ``filename`` are the path, its ``value`` and its ``strerror`` the reason.

    Args:
        filename: the path, as it was given.
        reason: why not, as the system says it.
        right: what would be right, in words.
        errno: the number of the error; None: there is none.
    """

    def __init__(self, filename: str, reason: str, right: str, errno: int | None = None) -> None:
        super().__init__(filename, Reason(reason), right)
        self.filename: str = filename
        self.strerror: str = reason
        self.errno: int | None = errno

    @classmethod
    def of(cls, path: str | os.PathLike[str], error: OSError | ValueError, right: str) -> FileError:
        """The refusal of a path for an error that the system raised.

        Args:
            path: the path, as it was given.
            error: what came of it; a ValueError where it is no path at all.
            right: what would be right, in words.

        Returns:
            A new error.
        """
        reason = getattr(error, "strerror", None) or str(error)
        return cls(os.fspath(path), reason, right, getattr(error, "errno", None))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.filename, self.strerror, self.right, self.errno)


class MissingExtra(KnobpackError, ImportError):
    """A library is needed that a plain install does not bring.

    Args:
        what: what needs it, such as ``pictures``.
        name: the library.
        extra: what is installed with it: ``knobpack[extra]``.
    """

    def __init__(self, what: str, name: str, extra: str) -> None:
        super().__init__(what, name, extra)
        self.what = what
        self.name: str = name
        self.extra = extra
        self.msg = str(self)

    def __str__(self) -> str:
        need = f"{self.what} need {self.name}"
        return f"{need}: python -m pip install 'knobpack[{self.extra}]'"


class Fault(KnobpackError, RuntimeError):
    """What knobpack found does not agree with itself: nothing is given back that may be wrong.

    Args:
        found: what does not agree.
    """

    def __init__(self, found: str) -> None:
        super().__init__(found)
        self.found = found

    def __str__(self) -> str:
        return f"{self.found}; this is a fault of knobpack's own: please report it"


class NoLayoutFound(KnobpackError):
    """The search was stopped before it knew any layout. Nothing was proven impossible.

    Args:
        stopped: what stopped it, such as ``time limit``.
    """

    def __init__(self, stopped: Stopped) -> None:
        super().__init__(stopped)
        self.stopped = stopped

    def __str__(self) -> str:
        how = ended(self.stopped)
        more = "" if self.stopped == "cancelled" else ": give more time or effort"
        return (
            f"{how} before any layout that meets every demand was found; that there is none is not "
            f"proven{more}"
        )


def _brief(value: object, most: int = 80) -> str:
    """``repr``, cut short: a hostile value must not fill a screen."""
    if isinstance(value, int) and abs(value) >= 10**most:
        return "a number of more digits than fit here"  # repr itself refuses above 4,300
    try:
        text = repr(value)
    except Exception:  # whatever its repr does, it must not hide this error
        text = f"a {type(value).__name__}"
    if len(text) <= most:
        return text
    if isinstance(value, tuple | list) and _is_word(value[0]):
        return f"a list of {len(value)} that begins with {_called(value[0])}"
    return _called(value) if _is_word(value) else f"{text[: most - 1]}…"


def _is_word(value: object) -> bool:
    return type(value).__module__.startswith("knobpack.")


def _called(word: object) -> str:
    """A word by its kind, and by its name if it has one: ``the Voice 'Organ'``."""
    kind, name = type(word).__name__, getattr(word, "name", None)
    if isinstance(name, str):
        return f"the {kind} {name!r}"
    return f"{'an' if kind[0] in 'AEIOU' else 'a'} {kind}"
