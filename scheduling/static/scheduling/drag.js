// A visit dragged to another place in its day, to another crew or day. The answer comes while it hovers; nothing is
// stored before it is let go, and what goes against a wish is asked about once more. Without this file, and on phones,
// the buttons "Earlier", "Later" and "Elsewhere" do the same.
"use strict";

(() => {
  const form = document.getElementById("drag-form");
  const panel = document.getElementById("drag-panel");
  if (!form || !panel) return;
  const answer = panel.querySelector(".drag-answer");
  const buttons = panel.querySelector(".form-foot");
  const WAIT_MS = 180;

  let dragged = null; // the row
  let target = null; // {zone, crew, day, position}
  let verdict = null; // the element of the answer, once it is there
  let asked = 0;
  let timer = 0;

  const rowsOf = (zone) => [...zone.querySelectorAll("[data-visit]")].filter((row) => row !== dragged);

  /** Where the visit would stand if it were let go here: places count from 1 among the others of that round. */
  function placeAt(zone, y) {
    const rows = rowsOf(zone);
    const above = rows.filter((row) => {
      const box = row.getBoundingClientRect();
      return y > box.top + box.height / 2;
    }).length;
    return { zone, rows, crew: zone.dataset.crew, day: zone.dataset.day, position: above + 1 };
  }

  const isSame = (one, two) =>
    one && two && one.crew === two.crew && one.day === two.day && one.position === two.position;

  function fill(act) {
    form.action = dragged.dataset.move;
    form.elements.revision.value = dragged.dataset.revision;
    form.elements.crew.value = target.crew;
    form.elements.day.value = target.day;
    form.elements.position.value = target.position;
    form.elements.act.value = act;
  }

  async function ask() {
    const number = ++asked;
    fill("check");
    panel.hidden = false;
    buttons.hidden = true;
    answer.textContent = "Looking whether it fits …";
    let words;
    try {
      const reply = await fetch(form.action, {
        method: "POST",
        body: new FormData(form),
        headers: { "HX-Request": "true" },
        credentials: "same-origin",
      });
      words = reply.ok ? await reply.text() : null;
    } catch {
      words = null;
    }
    if (number !== asked || !target) return;
    if (words === null) {
      answer.textContent = "No answer came; use the button “Elsewhere”.";
      return;
    }
    // Our own page's own words, escaped by the server.
    answer.replaceChildren(...new DOMParser().parseFromString(words, "text/html").body.childNodes);
    verdict = answer.querySelector("[data-fits]");
    target.zone.classList.toggle("is-fit", verdict?.dataset.fits === "yes");
    target.zone.classList.toggle("is-unfit", verdict?.dataset.fits === "no");
  }

  function unmark() {
    document.querySelectorAll(".is-fit, .is-unfit, .is-over").forEach((each) => each.classList.remove("is-fit", "is-unfit", "is-over"));
    document.querySelectorAll(".drop-before, .drop-after").forEach((each) => each.classList.remove("drop-before", "drop-after"));
  }

  function leave() {
    unmark();
    clearTimeout(timer);
    asked += 1;
    dragged?.classList.remove("is-dragged");
    dragged = target = verdict = null;
    panel.hidden = true;
  }

  document.querySelectorAll("[data-visit][data-move]").forEach((row) => {
    row.draggable = true;
    row.addEventListener("dragstart", (event) => {
      leave();
      dragged = row;
      row.classList.add("is-dragged");
      event.dataTransfer.effectAllowed = "move";
      event.dataTransfer.setData("text/plain", row.dataset.visit);
    });
    row.addEventListener("dragend", () => {
      if (buttons.hidden) leave();
    });
  });

  document.querySelectorAll("[data-drop]").forEach((zone) => {
    zone.addEventListener("dragover", (event) => {
      if (!dragged) return;
      event.preventDefault();
      const here = placeAt(zone, event.clientY);
      if (isSame(here, target)) return;
      unmark();
      target = here;
      verdict = null;
      zone.classList.add("is-over");
      const next = here.rows[here.position - 1];
      if (next) next.classList.add("drop-before");
      else here.rows.at(-1)?.classList.add("drop-after");
      clearTimeout(timer);
      timer = setTimeout(ask, WAIT_MS);
    });
    zone.addEventListener("drop", async (event) => {
      if (!dragged || !target) return;
      event.preventDefault();
      clearTimeout(timer);
      if (!verdict) await ask();
      if (!verdict || verdict.dataset.fits !== "yes") {
        // Say why it cannot be, and leave everything as it is.
        buttons.hidden = false;
        buttons.querySelector("[data-go]").hidden = true;
        return;
      }
      if (verdict.dataset.wishes === "0") return go();
      buttons.hidden = false;
      buttons.querySelector("[data-go]").hidden = false;
      buttons.querySelector("[data-go]").focus();
    });
  });

  function go() {
    fill("move");
    form.submit();
  }

  panel.querySelector("[data-go]").addEventListener("click", go);
  panel.querySelector("[data-leave]").addEventListener("click", leave);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") leave();
  });
})();
