"""What the office says about things that came from phones."""

from __future__ import annotations

from decimal import Decimal

from django import forms

from business.errors import Fault


class UnitCostForm(forms.Form):
    unit_cost = forms.DecimalField(
        label="One of it cost us",
        min_value=Decimal(0),
        max_digits=10,
        decimal_places=3,
        error_messages={
            "required": "Say what one unit cost us.",
            "invalid": "Write an amount like 2.40.",
            "min_value": "A cost is never below zero.",
        },
    )

    def as_faults(self) -> tuple[Fault, ...]:
        """Its errors as the frame shows refusals."""
        return tuple(
            Fault("what one unit cost", str(sentence).rstrip("."), "write an amount like 2.40")
            for sentences in self.errors.values()
            for sentence in sentences
        )
