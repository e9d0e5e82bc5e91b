// A number worth having, on keys that a glove can hit.

import { choice, complain, field, h } from "./dom.js";
import { length, limb as limbWords, toMm } from "./words.js";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
const ANGLES = new Set(["limb_angle"]);

export function measureForm(app, stop, tree, limb, close) {
  const { units, words } = app.pack;
  const limbs = [...new Set(["leader", "trunk", "whole", limb, ...tree.limbs])];
  const what = choice(Object.entries(words.measured), limb === "leader" ? "leader_height" : limb === "trunk" ? "trunk_girth" : "limb_length");
  const where = choice(limbs.map((key) => [key, limbWords(key)]), limb);
  const number = h("input", { type: "text", inputmode: "decimal", class: "number-field", autocomplete: "off" });
  const unit = () => (ANGLES.has(what.value) ? "degrees above level" : units === "imperial" ? "inches" : "cm");
  const label = h("span", {}, unit());
  const box = field("How much", number);
  const last = h("p", { class: "where" });
  const refresh = () => {
    label.textContent = unit();
    const known = tree.measured.find((one) => one.what === what.value && one.limb === where.value);
    const shown = known && (ANGLES.has(what.value) ? `${Math.round(known.value)}°` : length(known.value, units));
    last.textContent = known ? `Last: ${shown} on ${known.on}` : "Not measured before.";
  };
  what.addEventListener("change", refresh);
  where.addEventListener("change", refresh);
  refresh();
  const press = (key) => {
    number.value = key === "⌫" ? number.value.slice(0, -1) : number.value + key;
  };
  const keep = async () => {
    const said = Number(number.value.replace(",", "."));
    if (!number.value || !Number.isFinite(said)) {
      complain(box, "Write a number, such as 95.");
      return;
    }
    const value = ANGLES.has(what.value) ? said : toMm(said, units);
    const kept = await app.say({ kind: "measured", stop, tree, value: { what: what.value, limb: where.value, value } });
    if (!kept) return;
    close();
    app.refresh();
  };
  return h(
    "div",
    { class: "measure", role: "group", "aria-label": "Measure" },
    field("What", what),
    field("Which limb", where),
    last,
    box,
    h("p", { class: "unit" }, label),
    h("div", { class: "keys" }, KEYS.map((key) => h("button", { type: "button", class: "key", "aria-label": key === "⌫" ? "Delete the last digit" : key, onclick: () => press(key) }, key))),
    h("button", { type: "button", class: "button is-main", onclick: keep }, "Keep the number"),
    h("button", { type: "button", class: "button is-wide", onclick: close }, "Cannot measure"),
  );
}
