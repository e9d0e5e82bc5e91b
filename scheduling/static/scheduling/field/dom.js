// Building pieces of a page without a template language.

/** An element: h("button", {class: "main", onclick: act}, "Done"). */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.flat(9).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** A drawing of ours, as it came with the round. */
export function drawing(svg) {
  const box = h("div", { class: "drawing" });
  box.innerHTML = svg ?? "";
  return box;
}

let fields = 0;

/** A field with its label above it. */
export function field(words, input, help = "") {
  fields += 1;
  input.id = `field-${fields}`;
  const note = help ? h("p", { class: "help", id: `${input.id}-help` }, help) : null;
  if (note) input.setAttribute("aria-describedby", note.id);
  return h("div", { class: "field" }, h("label", { for: input.id }, words), note, input);
}

export function choice(options, chosen = "") {
  const list = h("select", {});
  for (const [value, words] of options) {
    const option = h("option", { value }, words);
    option.value = value;
    option.selected = value === chosen;
    list.append(option);
  }
  return list;
}

/** A drawer that opens in place. */
export function drawer(words, ...content) {
  return h("details", { class: "drawer" }, h("summary", { class: "button" }, words), h("div", { class: "inside" }, ...content));
}

/** A problem said beside the field it is about. */
export function complain(element, words) {
  element.querySelector(".complaint")?.remove();
  element.append(h("p", { class: "complaint", role: "alert" }, h("strong", {}, "✕ "), words));
}
