"""What is asked about a visit and its jobs."""

from __future__ import annotations

from django import forms

from scheduling.models import Task


class AnswerForm(forms.Form):
    state = forms.ChoiceField(choices=[("done", "Done"), ("not_done", "Not done")])
    reason = forms.ChoiceField(choices=[("", "Why not?"), *Task.Reason.choices], required=False)
    note = forms.CharField(required=False, max_length=2000)


class FinishForm(forms.Form):
    minutes = forms.IntegerField(
        label="Minutes on site", min_value=1, max_value=1440, required=False, help_text="From arriving to leaving."
    )
    note = forms.CharField(
        label="A sentence for the client", required=False, max_length=2000, widget=forms.Textarea({"rows": 2})
    )


class CallOffForm(forms.Form):
    reason = forms.CharField(label="Why is it called off?", max_length=120)
