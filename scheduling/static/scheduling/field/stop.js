// One stop: getting in, what to mind, the trees in walking order, and closing it honestly.

import { choice, complain, drawer, field, h } from "./dom.js";
import { others, placeOf, progress, standing } from "./fold.js";
import { signaturePad } from "./signature.js";
import { clock, day, KIND_WORDS, many, minutes } from "./words.js";

export function findStop(app, id) {
  return app.pack?.stops.find((stop) => String(stop.id) === id);
}

export function stopPage(app, stop) {
  const { site } = stop;
  const how = progress(stop, app.acts);
  const cautions = [...new Set(stop.trees.flatMap((tree) => tree.cautions))];
  const isOver = ["finished", "called_off"].includes(how.state);
  return h(
    "div",
    {},
    h("a", { class: "back button", href: "#/" }, "← The day"),
    h("h1", {}, site.name),
    h("p", { class: "facts" }, [day(stop.on), stop.arrives && `${stop.arrives} to ${stop.leaves}`, `${minutes(stop.minutes)} allowed`].filter(Boolean).join(" · ")),
    how.state === "finished" ? h("p", { class: "state" }, "✓ Finished") : null,
    how.state === "called_off" ? h("p", { class: "state" }, "✕ Called off") : null,
    h("section", { class: "way" },
      h("p", { class: "lines" }, site.address),
      site.access ? h("p", { class: "lines" }, h("strong", {}, "Getting in: "), site.access) : null,
      h("div", { class: "pair" },
        h("a", { class: "button", href: `geo:${site.latitude},${site.longitude}?q=${site.latitude},${site.longitude}` }, "Directions"),
        site.phone ? h("a", { class: "button", href: `tel:${site.phone.replaceAll(" ", "")}` }, `Ring ${site.phone}`) : null,
      ),
    ),
    site.hazards ? note("Mind", site.hazards) : null,
    stop.weather.length ? note("Weather", `Only if the day keeps to: ${stop.weather.join(", ")}.`) : null,
    cautions.map((words) => note("Mind", words)),
    h("section", {}, h("h2", {}, "Trees, in walking order"), h("ol", { class: "rows" }, stop.trees.map((tree) => treeRow(app, stop, tree)))),
    isOver ? null : writing(app, stop),
    said(app, stop),
    isOver ? null : mainAct(app, stop, how),
  );
}

function note(kind, words) {
  return h("p", { class: "note" }, h("strong", {}, `▲ ${kind}: `), words);
}

function treeRow(app, stop, tree) {
  const open = tree.tasks.filter((task) => standing(task, app.acts).state === "open").length;
  return h(
    "li",
    { class: `row ${open ? "" : "is-finished"}` },
    h(
      "a",
      { href: `#/stop/${stop.id}/tree/${tree.key}` },
      h("span", { class: "shape", "aria-hidden": "true" }, open ? "☐" : "☑"),
      h("span", { class: "row-words" }, h("strong", {}, tree.label),
        h("span", {}, [tree.is_suspect ? "last: disinfect" : "", tree.where, open ? `${many(open, "job")} to do` : "all answered"].filter(Boolean).join(" · "))),
    ),
  );
}

function mainAct(app, stop, how) {
  if (!how.startedAt) {
    return h("div", { class: "main-act" }, h("button", { type: "button", class: "button is-main", onclick: () => app.say({ kind: "started", stop }) }, "Start"));
  }
  const time = h("p", { class: "timer", "data-timer": how.startedAt }, `On site since ${clock(how.startedAt)} · ${minutes((Date.now() - new Date(how.startedAt)) / 60_000)}`);
  return h("div", { class: "main-act" }, time, h("a", { class: "button is-main", href: `#/stop/${stop.id}/close` }, "End of stop"));
}

/** Things to write down about the stop as a whole. */
function writing(app, stop) {
  return h(
    "section",
    {},
    h("h2", {}, "Write down"),
    drawer("A note", ...form([["text", "Note for the office", h("textarea", { rows: 3, maxlength: 2000 })]], "Keep the note", (value) => app.say({ kind: "note", stop, value }))),
    drawer("Material used", ...materialForm(app, stop)),
    drawer("The client asks for more", ...form([["text", "What they would like", h("textarea", { rows: 3, maxlength: 2000 })]], "Tell the office", (value) => app.say({ kind: "extra", stop, value }))),
    drawer("Call the visit off", ...form(
      [["reason", "Why?", choice([["", "Choose a reason"], ["rain", "rain"], ["frost", "frost"], ["wind", "wind"], ["no access", "no access"], ["nobody home", "nobody home"], ["crew ill or hurt", "crew ill or hurt"], ["vehicle", "vehicle"]])]],
      "Call it off", (value) => app.say({ kind: "called_off", stop, value }))),
  );
}

function materialForm(app, stop) {
  const names = choice([["", "Choose"], ...app.pack.words.materials.map((one) => [one.name, `${one.name} (${one.unit})`])]);
  const quantity = h("input", { type: "number", inputmode: "decimal", min: "0", step: "any" });
  return form([["name", "Material", names], ["quantity", "How much", quantity]], "Keep it", (value) => {
    const unit = app.pack.words.materials.find((one) => one.name === value.name)?.unit ?? "";
    return app.say({ kind: "material", stop, value: { ...value, quantity: Number(value.quantity), unit } });
  });
}

/** A small form: every field must be filled; the button keeps it. */
export function form(fields, words, keep) {
  const inputs = fields.map(([name, label, input]) => ({ name, input, box: field(label, input) }));
  const element = h("form", { novalidate: true, onsubmit: submit }, inputs.map((one) => one.box), h("button", { type: "submit", class: "button is-wide" }, words));
  async function submit(event) {
    event.preventDefault();
    const missing = inputs.find((one) => !one.input.value.trim());
    if (missing) {
      complain(missing.box, "This is empty. Fill it in, then keep it.");
      missing.input.focus();
      return;
    }
    const kept = await keep(Object.fromEntries(inputs.map((one) => [one.name, one.input.value.trim()])));
    if (!kept) return;
    // What was typed goes only once it is safe on the disk.
    element.reset();
    element.closest("details")?.removeAttribute("open");
    element.dispatchEvent(new Event("kept", { bubbles: true }));
  }
  return [element];
}

function said(app, stop) {
  const list = others(stop, app.acts).filter((act) => !["started", "finished"].includes(act.kind));
  if (!list.length) return null;
  return h("section", {}, h("h2", {}, "Written down here"), h("ul", { class: "said" }, list.map((act) => saidRow(app, stop, act))));
}

function saidRow(app, stop, act) {
  const tree = stop.trees.find((one) => one.id === act.tree);
  const words = [tree?.label, act.value.text ?? act.value.name ?? act.value.reason, act.value.quantity && `${act.value.quantity} ${act.value.unit ?? ""}`].filter(Boolean).join(" · ");
  const canUndo = act.mine && !["called_off"].includes(act.kind);
  return h("li", {},
    h("p", {}, h("strong", {}, KIND_WORDS[act.kind] ?? act.kind), words ? `: ${words}` : "", h("span", { class: "where" }, ` ${clock(act.at)} · ${PLACES[act.place]}`)),
    canUndo ? h("button", { type: "button", class: "button", onclick: () => app.withdraw(stop, act) }, `Take back ${(KIND_WORDS[act.kind] ?? act.kind).toLowerCase()}`) : null,
  );
}

export const PLACES = { phone: "▲ On this phone", office: "● Office has it", refused: "✕ Needs a second look" };

/** The end of a stop: what is unanswered, what is not sent, how long it took, what the client should know. */
export function closePage(app, stop) {
  const open = stop.trees.flatMap((tree) => tree.tasks.filter((task) => standing(task, app.acts).state === "open").map((task) => ({ tree, task })));
  const how = progress(stop, app.acts);
  const pictures = app.photos.filter((photo) => photo.blob && !photo.sentAt && !photo.refused).length;
  const took = how.startedAt ? Math.max(1, Math.round((Date.now() - new Date(how.startedAt)) / 60_000)) : "";
  const time = h("input", { type: "number", inputmode: "numeric", min: "1", max: "1440", value: String(took) });
  const note = h("textarea", { rows: 3, maxlength: 2000 });
  const timeBox = field("Minutes on site", time, "From arriving to leaving.");
  const pad = signaturePad();
  const name = h("input", { type: "text", maxlength: 120, autocomplete: "off" });
  const finish = async () => {
    const spent = Number(time.value);
    if (!(spent >= 1 && spent <= 1440)) {
      complain(timeBox, "Write the minutes, from 1 to 1440.");
      time.focus();
      return;
    }
    if (name.value.trim() || pad.strokes().length) {
      await app.say({ kind: "signed", stop, value: { name: name.value.trim(), strokes: pad.strokes() } });
    }
    await app.say({ kind: "finished", stop, value: { minutes: spent, note: note.value.trim() } });
    location.hash = "#/";
  };
  return h(
    "div",
    {},
    h("a", { class: "back button", href: `#/stop/${stop.id}` }, `← ${stop.site.name}`),
    h("h1", {}, "End of stop"),
    open.length
      ? h("section", {}, h("h2", {}, `${many(open.length, "job")} without an answer`), h("ul", { class: "rows" }, open.map(({ tree, task }) => h("li", { class: "row" }, h("a", { href: `#/stop/${stop.id}/tree/${tree.key}` }, h("span", { class: "shape", "aria-hidden": "true" }, "☐"), h("span", { class: "row-words" }, h("strong", {}, tree.label), h("span", {}, task.instruction)))))))
      : h("p", { class: "lead" }, "☑ Every job has its answer."),
    pictures ? h("p", {}, `${many(pictures, "picture")} still on this phone. They go when there is a signal.`) : null,
    timeBox,
    field("A sentence for the client", note, "It stands on their report. May stay empty."),
    h("section", {}, h("h2", {}, "The client"), field("Name of who signs", name, "May stay empty."), pad.element,
      h("button", { type: "button", class: "button is-wide", onclick: () => app.say({ kind: "nobody_home", stop }) }, "Nobody home")),
    h("div", { class: "main-act" }, h("button", { type: "button", class: "button is-main", disabled: open.length > 0, onclick: finish }, open.length ? "Answer every job first" : "Finish the visit")),
  );
}

export { placeOf };
