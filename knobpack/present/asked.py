"""Asked: what stands on the command line, in the order in which it stands there."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from typing import Any

import attrs


@attrs.frozen
class Asked:
    """One question or job as it stands on the command line.

    Args:
        option: such as ``--why``.
        values: what follows it.
    """

    option: str
    values: tuple[str, ...] = ()

    def __str__(self) -> str:
        return shlex.join((self.option, *self.values))


class Ask(argparse.Action):
    """Adds a question or job to those that were asked before."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,  # noqa: ARG002 - this is how argparse calls it
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Take what follows the option; argparse calls it."""
        given = (values,) if isinstance(values, str) else tuple(values or ())
        asked = Asked(option_string or self.option_strings[0], given)
        # Asked twice is answered once.
        before = getattr(namespace, self.dest)
        setattr(namespace, self.dest, tuple(dict.fromkeys((*before, asked))))
