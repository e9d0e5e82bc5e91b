/* Small comforts; every page works without them. Loaded before the page is drawn so that nothing jumps. */
"use strict";

document.documentElement.classList.add("js");

document.addEventListener("DOMContentLoaded", () => {
  focusFirstFault(document);
  const button = document.querySelector(".tabs-button");
  button?.addEventListener("click", () => {
    const isOpen = document.querySelector(".tabs").classList.toggle("is-open");
    button.setAttribute("aria-expanded", String(isOpen));
  });
});

// A page that came back with faults starts at their list.
function focusFirstFault(part) {
  part.querySelector(".faults")?.focus();
}
document.addEventListener("htmx:load", (event) => focusFirstFault(event.detail.elt));

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});

// One press, one act: a second press while the answer is under way is dropped.
document.addEventListener("submit", (event) => {
  const form = event.target;
  const question = event.submitter?.dataset.ask ?? form.dataset.ask;
  if (form.dataset.sent || (question && !window.confirm(question))) {
    event.preventDefault();
    event.stopImmediatePropagation();
    return;
  }
  if (form.method === "post" && !form.hasAttribute("hx-post")) form.dataset.sent = "yes";
}, true);
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// A filter applies as soon as a choice is made; typed words wait for Enter or the button.
document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (form?.matches("form.filters") && !form.hasAttribute("hx-get") && event.target.matches("select, [type=checkbox], [type=radio]")) {
    form.requestSubmit();
  }
});
