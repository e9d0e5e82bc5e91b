// One tree: its drawing, what to mind, its jobs, and what is found on it.

import { choice, complain, drawer, drawing, field, h } from "./dom.js";
import { standing } from "./fold.js";
import { measureForm } from "./measure.js";
import { hasRoom, makePhoto } from "./photos.js";
import { form, PLACES } from "./stop.js";
import { clock, FLAG_WORDS, minutes } from "./words.js";

const GLASS_REASON = "Choose a reason";

export function treePage(app, stop, tree) {
  const picture = drawing("");
  picture.dataset.drawing = tree.drawing;
  app.store.drawing(tree.drawing).then((svg) => {
    picture.innerHTML = svg;
  });
  const measuring = h("div", {});
  const startMeasuring = (limb) => measuring.replaceChildren(measureForm(app, stop, tree, limb, () => measuring.replaceChildren()));
  picture.addEventListener("click", (event) => {
    const limb = event.target.closest("[data-limb].limb")?.dataset.limb;
    if (limb && tree.id) startMeasuring(limb);
  });
  const page = h(
    "div",
    {},
    h("a", { class: "back button", href: `#/stop/${stop.id}` }, `← ${stop.site.name}`),
    h("h1", {}, tree.label),
    h("p", { class: "facts" }, [tree.where, tree.fact].filter(Boolean).join(" · ")),
    tree.is_suspect ? h("p", { class: "note" }, h("strong", {}, "▲ Mind: "), tree.cautions[0]) : null,
    picture,
    minding(tree.is_suspect ? tree.cautions.slice(1) : tree.cautions),
    h("ol", { class: "jobs", id: "jobs" }, tree.tasks.map((task) => jobRow(app, stop, tree, task))),
    tree.id ? h("section", {}, h("h2", {}, "Measure and look"),
      h("button", { type: "button", class: "button is-wide", onclick: () => startMeasuring("leader") }, "Measure"),
      h("p", { class: "help" }, "Or tap a limb on the drawing."), measuring,
      drawer("Stage of the year", ...stageForm(app, stop, tree)),
      drawer("Disease or damage", ...form([["text", "What you see", h("textarea", { rows: 2, maxlength: 500 })]], "Keep it", (value) => app.say({ kind: "seen", stop, tree, value: { what: "disease", ...value } }))),
      drawer("A note about this tree", ...form([["text", "Note", h("textarea", { rows: 2, maxlength: 2000 })]], "Keep the note", (value) => app.say({ kind: "note", stop, tree, value }))),
    ) : null,
    photoPart(app, stop, tree),
  );
  return page;
}

/** What to mind before the first job, each in its first sentence; a tap shows all of it. */
function minding(cautions) {
  if (!cautions.length) return null;
  const short = cautions.map((words) => words.match(/^.*?[.;](?= |$)/)?.[0].replace(/;$/, ".") ?? words);
  const isAll = short.every((words, index) => words === cautions[index]);
  const list = h("ul", { class: "mind" }, short.map((words) => h("li", {}, h("strong", {}, "▲ "), words)));
  if (isAll) return list;
  return h("div", {}, list, h("details", { class: "all-of-it" }, h("summary", { class: "button is-wide" }, "Read all of it"), cautions.map((words) => h("p", { class: "note" }, words))));
}

export function jobRow(app, stop, tree, task) {
  const how = standing(task, app.acts);
  const row = h("li", { class: `job is-${how.state}`, "data-task": task.id, id: `job-${task.id}` });
  row.append(
    h("p", { class: "instruction" }, h("span", { class: "number" }, `${task.number}`), h("span", {}, task.instruction)),
    h("p", { class: "why" }, `${task.why} · ${minutes(task.minutes)}`),
    how.state === "open" ? buttons(app, stop, tree, task) : answerLine(app, stop, task, how),
  );
  return row;
}

function buttons(app, stop, tree, task) {
  const reasons = choice([["", GLASS_REASON], ...Object.entries(app.pack.words.reasons)]);
  const words = h("input", { type: "text", maxlength: 500, autocomplete: "off" });
  const box = field("Why not?", reasons);
  const keep = () => {
    if (!reasons.value) {
      complain(box, "Choose a reason, so that the office knows what to do.");
      reasons.focus();
      return;
    }
    app.say({ kind: "not_done", stop, tree, task, value: { reason: reasons.value, note: words.value.trim() } });
  };
  return h(
    "div",
    { class: "answers" },
    h("button", { type: "button", class: "button do-done", onclick: () => app.say({ kind: "done", stop, tree, task }) },
      h("span", { "aria-hidden": "true" }, "☐ "), "Done", h("span", { class: "unseen" }, `: job ${task.number}`)),
    h("details", { class: "drawer" },
      h("summary", { class: "button" }, "Not done", h("span", { class: "unseen" }, `: job ${task.number}`)),
      h("div", { class: "inside" }, box, field("In words", words, "May stay empty."), h("button", { type: "button", class: "button is-wide", onclick: keep }, "Keep it"))),
  );
}

function answerLine(app, stop, task, how) {
  const { answer, others } = how;
  const reason = answer.kind === "not_done" ? `: ${app.pack.words.reasons[answer.value.reason] ?? answer.value.reason}` : "";
  const receipt = app.acts.find((act) => act.id === answer.id)?.receipt;
  const flags = (receipt?.flags ?? []).map((flag) => FLAG_WORDS[flag]).filter(Boolean);
  if (how.isTwo) flags.push(FLAG_WORDS.two_answers);
  const undo = how.mine.at(-1);
  return h(
    "div",
    { class: "answered" },
    h("p", { class: "answer" }, h("span", { class: "box", "aria-hidden": "true" }, answer.kind === "done" ? "☑" : "⊟"),
      h("strong", {}, answer.kind === "done" ? "Done" : `Not done${reason}`)),
    answer.value.note ? h("p", {}, answer.value.note) : null,
    h("p", { class: "where" }, `${answer.by}, ${clock(answer.at)} · ${PLACES[answer.place]}`),
    others.map((other) => h("p", { class: "where" }, `also: ${other.kind === "done" ? "done" : "not done"} by ${other.by}, ${clock(other.at)}`)),
    receipt?.result === "refused" ? h("p", { class: "complaint" }, `✕ ${receipt.problem?.detail ?? ""}`) : null,
    flags.map((words) => h("p", { class: "where" }, `▲ ${words}`)),
    undo ? h("button", { type: "button", class: "button is-undo", onclick: () => app.withdraw(stop, { id: undo, task: task.id }) }, "Undo", h("span", { class: "unseen" }, `: job ${task.number}`)) : null,
  );
}

function stageForm(app, stop, tree) {
  const stages = choice([["", "Choose"], ...app.pack.words.stages.map((stage) => [stage, stage.replaceAll("_", " ")])]);
  return form([["text", "What the tree shows today", stages]], "Keep it", (value) => app.say({ kind: "seen", stop, tree, value: { what: "stage", ...value } }));
}

function photoPart(app, stop, tree) {
  const told = h("p", { role: "status", class: "where" });
  const taken = h("div", { class: "taken" }, thumbs(app, stop, tree));
  const section = h(
    "section",
    {},
    h("h2", {}, "Photos"),
    tree.photo ? h("figure", {}, h("img", { src: `/field/pictures/${tree.photo.uid}`, alt: `${tree.label} as photographed`, width: 240, loading: "eager" }), h("figcaption", {}, `Last photo, ${tree.photo.on}. Stand in the same place.`)) : null,
    taken,
    app.tight
      ? h("p", { class: "note" }, h("strong", {}, "▲ "), "This phone is nearly full: pictures are off, ticking goes on.")
      : h("div", { class: "pair" }, picker("Photo before", "before"), picker("Photo after", "after"), picker("From the gallery", "", false)),
    told,
  );
  function picker(words, pair, isCamera = true) {
    const input = h("input", { type: "file", accept: "image/*", class: "unseen", capture: isCamera ? "environment" : null, onchange: () => take(input, pair) });
    return h("label", { class: "button" }, words, input);
  }
  async function take(input, pair) {
    const [file] = input.files;
    input.value = "";
    if (!file) return;
    told.textContent = "Making the picture small …";
    try {
      if (!(await hasRoom())) throw new DOMException("full", "QuotaExceededError");
      const photo = await makePhoto(file);
      await app.say({ kind: "photo", stop, tree, value: { digest: photo.digest, pair, size: photo.size } }, photo);
      told.textContent = "Photo kept on this phone.";
    } catch (error) {
      if (error.name === "QuotaExceededError") app.setTight(true);
      told.textContent = error.name === "QuotaExceededError" ? "No room for this picture. Ticking goes on." : error.message;
    }
  }
  return section;
}

function thumbs(app, stop, tree) {
  const mine = app.acts.filter((act) => act.kind === "photo" && act.visit === stop.id && act.tree === tree.id);
  return mine.map((act) => {
    const photo = app.photos.find((one) => one.digest === act.value.digest);
    if (!photo) return null;
    const place = photo.refused ? `✕ ${photo.refused}` : photo.sentAt ? "● Office has it" : "▲ On this phone";
    const words = `${act.value.pair ? `Photo ${act.value.pair}` : "Photo"}, ${clock(act.at)} · ${place}`;
    const picture = photo.thumb ?? photo.blob;
    return h("figure", {}, picture ? h("img", { src: app.address(photo.digest, picture), alt: words, width: 120 }) : null, h("figcaption", {}, words));
  });
}
