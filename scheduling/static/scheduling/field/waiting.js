// What this phone holds: every act in words with its place, what was refused and why, and how to mend it.

import { complain, field, h } from "./dom.js";
import { placeOf } from "./fold.js";
import { PLACES } from "./stop.js";
import { clock, FLAG_WORDS, KIND_WORDS, many } from "./words.js";

const SHOWN = 60;

export function waitingPage(app) {
  const waiting = app.acts.filter((act) => !act.receipt);
  const refused = app.acts.filter((act) => act.receipt?.result === "refused" && !act.settled);
  const sent = app.acts.filter((act) => act.receipt && !refused.includes(act)).slice(-SHOWN).reverse();
  const pictures = app.photos.filter((photo) => photo.blob && !photo.sentAt && !photo.refused);
  const room = h("p", {});
  navigator.storage?.estimate?.().then(({ quota, usage }) => {
    room.textContent = quota ? `Room left on this phone: ${Math.round((quota - usage) / 1e6)} MB` : "";
  });
  return h(
    "div",
    {},
    h("a", { class: "back button", href: "#/" }, "← The day"),
    h("h1", {}, "What this phone holds"),
    h("p", { class: "lead" }, waiting.length ? `${many(waiting.length, "act")} to send, the oldest from ${clock(waiting[0].at)}.` : "Nothing is waiting."),
    pictures.length ? h("p", {}, `${many(pictures.length, "picture")} to send.`) : null,
    h("p", {}, app.contact ? `Last contact with the office: ${clock(app.contact)}` : "No contact with the office yet."),
    room,
    refused.length ? h("section", {}, h("h2", {}, "Needs a second look"), h("ul", { class: "said" }, refused.map((act) => refusedRow(app, act)))) : null,
    waiting.length ? h("section", {}, h("h2", {}, "To send"), h("ul", { class: "said" }, waiting.slice(0, SHOWN).map((act) => row(app, act)))) : null,
    sent.length ? h("section", {}, h("h2", {}, "Sent"), h("ul", { class: "said" }, sent.map((act) => row(app, act)))) : null,
    h("div", { class: "main-act" }, h("button", { type: "button", class: "button is-main", onclick: () => app.sender.tap() }, "Send now")),
  );
}

/** An act in words: "Done · Pear by the door · Shorten the laterals". */
export function inWords(app, act) {
  const stop = app.pack?.stops.find((one) => one.id === act.visit);
  const tree = stop?.trees.find((one) => one.id === (act.tree ?? act.job?.tree));
  const task = tree?.tasks.find((one) => one.id === act.task);
  const { value } = act;
  const detail = task?.instruction ?? value.text ?? value.name ?? value.reason ?? value.note ?? (value.value !== undefined ? String(value.value) : "");
  return [KIND_WORDS[act.kind] ?? act.kind, stop?.site.name, tree?.label, detail].filter(Boolean).join(" · ");
}

function row(app, act) {
  const flags = (act.receipt?.flags ?? []).map((flag) => FLAG_WORDS[flag]).filter(Boolean);
  return h("li", {}, h("p", {}, inWords(app, act)), h("p", { class: "where" }, `${clock(act.at)} · ${PLACES[act.settled ? "office" : placeOf(act)]}${flags.length ? ` · ${flags.join(" · ")}` : ""}`));
}

const MENDABLE = { not_done: "note", note: "text", extra: "text", seen: "text", measured: "value", finished: "minutes", called_off: "reason" };

function refusedRow(app, act) {
  const { errors = [], detail } = act.receipt.problem ?? {};
  const name = MENDABLE[act.kind];
  const input = name ? h("input", { type: "text", value: String(act.value[name] ?? "") }) : null;
  const box = input ? field("Put it right", input) : null;
  const again = async () => {
    if (input && !input.value.trim()) {
      complain(box, "This is empty. Write what is right.");
      return;
    }
    const isNumber = ["value", "minutes"].includes(name);
    const mended = input ? { ...act.value, [name]: isNumber ? Number(input.value) : input.value.trim() } : act.value;
    await app.repair(act, mended);
  };
  return h(
    "li",
    { class: "refused" },
    h("p", {}, h("strong", {}, "✕ "), inWords(app, act)),
    errors.length ? errors.map((error) => h("p", {}, `${error.pointer}: ${error.what}. Right would be: ${error.right}.`)) : h("p", {}, detail ?? "The office could not take it."),
    box,
    h("button", { type: "button", class: "button is-wide", onclick: again }, "Send it again"),
    h("button", { type: "button", class: "button is-wide", onclick: () => app.leave(act) }, "Leave it to the office"),
  );
}
