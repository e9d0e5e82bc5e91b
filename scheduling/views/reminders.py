"""Which reminders go out, and when."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from business.errors import Refusal
from business.forms.faults import take
from business.views.doors import office_only
from scheduling.forms.reminders import RuleForm
from scheduling.queries.reminders import reminder_rules
from scheduling.services.reminders import save_rule


@office_only
def rules(request: HttpRequest) -> HttpResponse:
    found = reminder_rules()
    forms = {kind: RuleForm(instance=rule, prefix=kind) for kind, rule in found.items()}
    status = 200
    if request.method == "POST":
        kind = request.POST.get("kind", "")
        if kind not in found:
            raise Http404("no such reminder")
        forms[kind] = form = RuleForm(request.POST, instance=found[kind], prefix=kind)
        if form.is_valid():
            try:
                save_rule(kind=kind, **form.values())
            except Refusal as refusal:
                take(form, refusal)
            else:
                messages.success(request, f"{found[kind].get_kind_display()}: stored.")
                return redirect("reminders")
        status = 422
    return render(request, "scheduling/reminders.html", {"forms": forms.items()}, status=status)
