"""What a family of forms must answer, and which family a form belongs to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Protocol

from gardens.knowledge.form_schema import FormRecord
from gardens.training.places import Place
from gardens.training.state import Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class FormFamily(Protocol):
    """A family of forms that are laid out and formed alike."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """The places of all permanent limbs, from the ground and the trunk outward."""

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """What the form asks for in one season, in the order of the year."""
