"""How the program says no.

    Refusal                 understood, and declined; nothing was changed
    ├── BadInput            something given is wrong: every fault names its place and what would be right
    ├── AlreadyDone         the act was done before and may not be done twice
    ├── Stale               somebody else changed the row meanwhile
    └── NotAllowed          this person may not do this

A ``ValueError`` in a core is a programmer's mistake; a ``Refusal`` is an answer to a person. Pages turn it into
status 422 and form errors, commands into exit status 2, tasks into "do not try again".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong.

    ``where`` names the place ("trees.csv, row 14, planted"), ``wrong`` what stands there ("31.02.2024 is not a
    date"), ``remedy`` what would be right ("write it as 2024-02-28").
    """

    where: str
    wrong: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: {self.wrong} ({self.remedy})"


class Refusal(Exception):
    """The program understood and says no; nothing was changed."""

    code = "refused"

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


class BadInput(Refusal):
    """Something given is wrong."""

    code = "bad_input"


class AlreadyDone(Refusal):
    """The act was done before and may not be done twice."""

    code = "already_done"


class Stale(Refusal):
    """Somebody else changed the row meanwhile."""

    code = "stale"


class NotAllowed(Refusal):
    """This person may not do this."""

    code = "not_allowed"
